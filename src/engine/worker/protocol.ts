import type { PrintOrder } from '../../files/print/print-order.ts';
import type { PrintedSong } from '../../files/print/print-song.ts';
import type { PlanMixBus } from '../../render/plan/plan.ts';
import type { Problem } from '../../session/problem.ts';
import type { Session } from '../../session/schema.ts';
import type { AudioFileFacts, AudioFiles, EngineView, Findings, Heard, Overview, Range } from '../engine.ts';
import type { Frames } from '../excerpt.ts';
import type { Told } from '../job.ts';
import type { Answers, Question } from '../questions.ts';
import type { Change } from './changes.ts';
import type { LevelFound, LevelsAsked } from './level-answers.ts';

/** What the engine's worker can be asked for, and what it tells by itself. All of it is plain data, which crosses. */

/** A sound that the worker holds: it stands for it where only its level, its shape or its playing matters. */
export interface SoundRef {
  /** Another one for another sound. */
  readonly id: number;
  readonly sampleRate: number;
  readonly frames: number;
  readonly channels: number;
}

/** What can be heard of the mix. */
export interface Hearable {
  readonly sampleRate: number;
  readonly rough: SoundRef | null;
  /** null: no track sounds. */
  readonly received: SoundRef | null;
  readonly paths: ReadonlyMap<string, SoundRef>;
}

/** Levels over the beginning of the song, LUFS; null: silence. */
export type FirstLevels = ReadonlyMap<Heard, number | null>;

/** Passes as far as they are printed. */
export interface Prints {
  readonly sounds: ReadonlyMap<string, SoundRef>;
  readonly overviews: ReadonlyMap<string, Overview>;
  /** As `Comparison` has them. */
  readonly preparing: ReadonlyMap<string, number>;
  readonly faults: ReadonlyMap<string, string>;
}

/** What the worker tells by itself; in order, and before what it answers afterwards. */
export type EngineMessage =
  | {
      readonly kind: 'view';
      readonly change: Partial<Pick<EngineView, 'state' | 'measuredPart' | 'seconds' | 'missing' | 'storage'>>;
    }
  | { readonly kind: 'findings'; readonly change: Partial<Findings> }
  /** All has been told of the session as this edition has it. */
  | { readonly kind: 'settled'; readonly edition: number }
  | { readonly kind: 'overview'; readonly side: Heard; readonly overview: Overview | null }
  /** Envelope of a file that a processor works with; null: it is not in hand. */
  | { readonly kind: 'sound overview'; readonly file: string; readonly overview: Overview | null }
  /** As the session of this edition has it. */
  | { readonly kind: 'mix bus'; readonly mixBus: PlanMixBus; readonly edition: number }
  /** `isOvertaken`: of a session that has been edited since; what is measured of it is not told. */
  | { readonly kind: 'hearable'; readonly hearable: Hearable; readonly seconds: number; readonly isOvertaken: boolean }
  /** What is being rendered, and can be heard as far as it is; levels of its beginning, LUFS, are estimates of the whole. */
  | { readonly kind: 'growing'; readonly hearable: Hearable; readonly seconds: number; readonly levels: FirstLevels }
  /** Nothing of the last song stays. */
  | { readonly kind: 'nothing to hear' }
  | { readonly kind: 'prints'; readonly prints: Prints }
  | { readonly kind: 'level'; readonly level: LevelFound }
  | { readonly kind: 'question'; readonly number: number; readonly told: Told<unknown> };

/** What a call came to: errors cross as what a reader is to be told. */
export type Outcome<T> =
  | { readonly done: T }
  | { readonly problem: Problem }
  | { readonly fault: string }
  /** Something newer came in its place. */
  | { readonly overtaken: string };

/** The worker as the main thread calls it. `edition` numbers all that replaces what was under way. */
export interface EngineCalls {
  /**
   * Takes a session in place of the last one; `files` are those that are not in hand under these paths already, `held` the paths of those that
   * are. Other files of the last session are let go.
   */
  open(edition: number, session: Session, files: AudioFiles, held: readonly string[]): Promise<Outcome<null>>;
  addFiles(edition: number, files: AudioFiles): Promise<Outcome<readonly AudioFileFacts[]>>;
  /** An edit of the session that came with the edition `opened`; null: nothing of it changed. `isPlaying`: it is rendered while the hand still moves. */
  apply(edition: number, opened: number, change: Change | null, isPlaying: boolean, solo: readonly string[]): void;
  cancel(edition: number): void;

  /** Passes that are to be printed. */
  wantPasses(ids: readonly string[]): void;
  askLevels(asked: LevelsAsked): void;
  /** Loudness of a sound as heard, LUFS; undefined: it is gone. */
  loudnessOf(id: number, frames: Frames | null): Promise<number | null | undefined>;
  /** The path that is worked on, or is about to be: it runs live while the song plays; null: none. */
  touch(path: string | null): void;
  /** The section in loop, of which figures are told soon; null: none. */
  loop(range: Range | null): void;
  /** Sends sounds to the player through this port, in place of any before. */
  feed(port: MessagePort): void;

  ask(number: number, question: Question): Promise<Outcome<Answers[Question['kind']]>>;
  /** The number is that of a question or a print. */
  withdraw(number: number): void;
  /** How far it is, is told as of a question. */
  print(number: number, order: PrintOrder): Promise<Outcome<PrintedSong<Blob>>>;
}

/** The same calls from the other side: each answers later. */
export type RemoteCalls = {
  readonly [Name in keyof EngineCalls]: (
    ...given: Parameters<EngineCalls[Name]>
  ) => Promise<Awaited<ReturnType<EngineCalls[Name]>>>;
};
