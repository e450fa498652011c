import type { PrintOrder } from '../../files/print/print-order.ts';
import type { PrintedSong } from '../../files/print/print-song.ts';
import type { PlanMixBus } from '../../render/plan/plan.ts';
import type { Problem } from '../../session/problem.ts';
import type { Session } from '../../session/schema.ts';
import type { AudioFileFacts, AudioFiles, EngineView, Findings, Heard, Overview, Range } from '../engine.ts';
import type { Frames } from '../excerpt.ts';
import type { JobReport } from '../job.ts';
import type { Answers, Question } from '../questions.ts';
import type { Change } from './changes.ts';
import type { LevelFound, LevelsAsked } from './level-answers.ts';

/** Calls and messages of the engine's worker. All of it is plain data that can be sent between threads. */

/** Reference to a sound in the worker, with its level and shape, for use in the main thread. */
export interface SoundRef {
  /** Another one for another sound. */
  readonly id: number;
  readonly sampleRate: number;
  readonly frames: number;
  readonly channels: number;
}

/** The sounds of the mix that can be played. */
export interface Hearable {
  readonly sampleRate: number;
  readonly rough: SoundRef | null;
  /** null: no track sounds. */
  readonly received: SoundRef | null;
  readonly paths: ReadonlyMap<string, SoundRef>;
}

/** Levels of the beginning of the song, LUFS; null: silence. */
export type FirstLevels = ReadonlyMap<Heard, number | null>;

/** The printed passes. */
export interface Prints {
  readonly sounds: ReadonlyMap<string, SoundRef>;
  readonly overviews: ReadonlyMap<string, Overview>;
  /** As in `Comparison`. */
  readonly preparing: ReadonlyMap<string, number>;
  readonly faults: ReadonlyMap<string, string>;
}

/** Messages that the worker sends unasked; they arrive in order, and before later answers. */
export type EngineMessage =
  | {
      readonly kind: 'view';
      readonly change: Partial<Pick<EngineView, 'state' | 'measuredPart' | 'seconds' | 'missing' | 'storage'>>;
    }
  | { readonly kind: 'findings'; readonly change: Partial<Findings> }
  /** All results of this edition of the session have been sent. */
  | { readonly kind: 'settled'; readonly edition: number }
  | { readonly kind: 'overview'; readonly side: Heard; readonly overview: Overview | null }
  /** Envelope of a file that a processor uses; null: it is missing. */
  | { readonly kind: 'sound overview'; readonly file: string; readonly overview: Overview | null }
  /** The mix bus of this edition of the session. */
  | { readonly kind: 'mix bus'; readonly mixBus: PlanMixBus; readonly edition: number }
  /** `isOvertaken`: the session has been edited since; its measurements are not sent. */
  | { readonly kind: 'hearable'; readonly hearable: Hearable; readonly seconds: number; readonly isOvertaken: boolean }
  /** A mix that is being rendered and can be played as far as it is; levels of its beginning, LUFS, are estimates of the whole. */
  | { readonly kind: 'growing'; readonly hearable: Hearable; readonly seconds: number; readonly levels: FirstLevels }
  /** Forgets the last song. */
  | { readonly kind: 'nothing to hear' }
  | { readonly kind: 'prints'; readonly prints: Prints }
  | { readonly kind: 'level'; readonly level: LevelFound }
  | { readonly kind: 'question'; readonly number: number; readonly told: JobReport<unknown> };

/** Result of a call; errors are sent as sentences for the user. */
export type Outcome<T> =
  | { readonly done: T }
  | { readonly problem: Problem }
  | { readonly fault: string }
  /** A newer call has replaced it. */
  | { readonly overtaken: string };

/** The calls of the main thread to the worker. `edition`: number of the session or edit, which replaces running work. */
export interface EngineCalls {
  /**
   * Opens a session in place of the last one; `files` are those that the worker does not have, `held` the paths of those that
   * it has. Other files of the last session are dropped.
   */
  open(edition: number, session: Session, files: AudioFiles, held: readonly string[]): Promise<Outcome<null>>;
  addFiles(edition: number, files: AudioFiles): Promise<Outcome<readonly AudioFileFacts[]>>;
  /** An edit of the session of the edition `opened`; null: no change. `isPlaying`: it is rendered while a control is still being moved. */
  apply(edition: number, opened: number, change: Change | null, isPlaying: boolean, solo: readonly string[]): void;
  cancel(edition: number): void;

  /** The passes to print. */
  wantPasses(ids: readonly string[]): void;
  askLevels(asked: LevelsAsked): void;
  /** Loudness of a side, LUFS; undefined: its sound is gone. */
  loudnessOf(id: number, frames: Frames | null): Promise<number | null | undefined>;
  /** The path whose chain is or will be edited: it runs live while the song plays; null: none. */
  touch(path: string | null): void;
  /** The section in loop, which is measured first; null: none. */
  loop(range: Range | null): void;
  /** Sends sounds to the player through this port, in place of any before. */
  feed(port: MessagePort): void;

  ask(number: number, question: Question): Promise<Outcome<Answers[Question['kind']]>>;
  /** The number is that of a question or a print. */
  withdraw(number: number): void;
  /** Progress is reported as for a question. */
  print(number: number, order: PrintOrder): Promise<Outcome<PrintedSong<Blob>>>;
}

/** The same calls on the main thread: each returns a promise. */
export type RemoteCalls = {
  readonly [Name in keyof EngineCalls]: (
    ...given: Parameters<EngineCalls[Name]>
  ) => Promise<Awaited<ReturnType<EngineCalls[Name]>>>;
};
