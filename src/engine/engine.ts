import type { MonitorCheck } from '../audition/monitor-check.ts';
import type { Heard } from '../audition/heard.ts';
import type { Meters, SignalLevel } from '../audition/meters.ts';
import type { Flag } from '../blend/ledger/flags.ts';
import type { GuardResult } from '../blend/guards/guards.ts';
import type { PrintOrder } from '../files/print/print-order.ts';
import type { PrintedSong } from '../files/print/print-song.ts';
import type { FigureChange } from '../measure/change.ts';
import type { Details } from '../measure/details.ts';
import type { Figures, Measurement } from '../measure/figures.ts';
import type { Session } from '../session/schema.ts';
import type { Received } from '../intake/received.ts';
import type { ReceivedFiles } from './received/received-files.ts';
import type { OverTime } from './worker/over-time.ts';
import type { AnswerTo, Asking, Question, RowOf } from './questions.ts';
import type { Range } from '../audio/range.ts';
import type { Overview } from './overview-columns.ts';

export type { Overview } from './overview-columns.ts';

export type { Heard, Meters, Range, SignalLevel };

export interface EngineState {
  /** empty: no session. rendering: what is heard is still the last render. failed: `message` is one clear sentence. */
  readonly phase: 'empty' | 'loading' | 'rendering' | 'ready' | 'failed';
  /** 0..1 while loading or rendering. */
  readonly progress: number;
  /** What is being done, or what went wrong, in plain words; '' when there is nothing to say. */
  readonly message: string;
}

/** What one path (group or bus) does to the mix, before the mix bus. */
export interface PathFindings {
  /** Part of the mix's K-weighted energy, -1..1 and more; below 0 the path cancels the others. null in silence. */
  readonly shareOfLoudness: number | null;
  /** Figures of the mix without the path. */
  readonly without: Figures;
  /** The mix with the path minus the mix without it. */
  readonly change: FigureChange;
  readonly alignment: {
    /** How late (positive) the path is against what it doubles, samples at the session's rate; 0 is exact, null: nothing to say. */
    readonly lagSamples: number | null;
    readonly polarity: 1 | -1;
    /** How far the path takes the mix down by cancelling where it does so most, dB, at most 0; null where nothing overlaps. */
    readonly cancelsDb: number | null;
  };
  /** What asks for a look, with a way out; empty when all is well. */
  readonly flags: readonly Flag[];
  /** What the path does, as one plain sentence. */
  readonly sentence: string;
  /** True while figures that hang on single samples (crest, peaks) are those from before the last move. */
  readonly arePeaksOld?: boolean;
}

/** All that is known of one whole side. */
export interface SideFindings extends Measurement {
  readonly details: Details;
  readonly overTime: OverTime;
}

/** All figures of one side over a section. */
export interface SectionSide extends Measurement {
  readonly details: Details;
}

/** What is known of the section in loop. */
export interface SectionFindings {
  readonly range: Range;
  readonly rough: SectionSide | null;
  readonly received: SectionSide | null;
  /** After the mix bus. */
  readonly mix: SectionSide;
  /**
   * True: measured of a render that begins some seconds before the section, as long as the chains remember; from the whole song it follows.
   */
  readonly isEarly: boolean;
}

export interface Findings {
  readonly rough: SideFindings | null;
  /** The tracks alone, summed. */
  readonly received: SideFindings | null;
  /** The mix as printed, after the mix bus. */
  readonly mix: SideFindings | null;
  /** The blend of all paths, before the mix bus; follows a blend at once. */
  readonly beforeMixBus: Figures | null;
  /** By the id of the group or bus. */
  readonly paths: ReadonlyMap<string, PathFindings>;
  /** What the guards say of the print. */
  readonly guards: readonly GuardResult[] | null;
  /** The section in loop: soon after a move, while the whole song is still rendered and measured. null: there is none, or not yet. */
  readonly section: SectionFindings | null;
}

/** What is compared, and how far each side is known. */
export interface Comparison {
  /**
   * Integrated loudness of each side over the section in loop, else the whole song, before it is turned down, LUFS. null:
   * it has none (silent, too short); absent: not measured yet.
   */
  readonly levels: ReadonlyMap<Heard, number | null>;
  /** Sides whose level is an estimate or from before the last change; the measured one is on its way. */
  readonly unsettled: ReadonlySet<Heard>;
  /** Passes that are being rendered, or wait for it, by id: the share that is done, 0..1. */
  readonly preparing: ReadonlyMap<string, number>;
  /** Why a pass cannot be heard, by its id: one sentence. */
  readonly faults: ReadonlyMap<string, string>;
}

/** Everything that the screen shows of the engine, replaced whole at every change. */
export interface EngineView {
  readonly state: EngineState;
  readonly findings: Findings;
  /** True once all findings are those of the session in hand as it stands. */
  readonly isMeasured: boolean;
  /** How much of the measuring that is under way is done, 0..1. */
  readonly measuredPart: number;
  /** Length of the song until its last tail has died away, seconds; 0 when there is none. */
  readonly seconds: number;
  /** What there is to say of where sound is kept, as a sentence; '' while all goes well. */
  readonly storage: string;
  /** Files that the session names and that are not in hand. */
  readonly missing: readonly string[];
  readonly playing: boolean;
  /** True while playing waits for sound that is still being rendered: it goes on by itself. */
  readonly waits: boolean;
  /** What can be listened to at once: the rough as soon as it is read, others once rendered and their level known. */
  readonly audible: readonly Heard[];
  /** Loudness to which all that is compared is turned down, LUFS; null while a level is not known. */
  readonly matchedLufs: number | null;
  readonly comparison: Comparison;
  /** The path that runs live while it is worked on, so that a move is heard at once; null: none. */
  readonly live: {
    readonly path: string | null;
    /** Why the path that is worked on does not, in one sentence; '': there is nothing to say. */
    readonly note: string;
  };
}

export interface PrintOptions extends PrintOrder {
  readonly onProgress?: (progress: number) => void;
  readonly signal?: AbortSignal;
}

/** What a dropped file turned out to be. */
export interface AudioFileFacts {
  readonly path: string;
  readonly seconds: number;
  readonly sampleRate: number;
  readonly channels: number;
}

/** Audio files by the path that the session calls them. */
export type AudioFiles = ReadonlyMap<string, Blob>;

/**
 * What stands between the screen and the sound: reads files, renders paths, measures, plays. It never edits a session.
 * Promises reject with ProblemError (or AbortError after a cancel), and what was in hand before stays as it was.
 */
export interface Engine {
  readonly view: EngineView;
  /** Calls `listener` after every change of `view`; the answer ends that. */
  listen(listener: () => void): () => void;

  /**
   * Takes a new session and its files in place of the last one; files that are not given end in `view.missing`.
   * Resolves once the files are read: rendering goes on behind it. When it rejects, the last session stays in hand.
   */
  open(session: Session, files: AudioFiles): Promise<void>;
  /** Reads more files into hand, before or after a session names them; renders once nothing is missing any more. */
  addFiles(files: AudioFiles): Promise<readonly AudioFileFacts[]>;
  /** The session after an edit: blends and faders move at once, what else changed is rendered in the background. */
  apply(session: Session): void;
  /**
   * The group, bus or track whose chain is worked on, or is about to be: while the song plays it is made to run live, with all that
   * it feeds, so that its moves are heard at once. null: none.
   */
  touch(path: string | null): void;
  /**
   * Tracks, groups and buses of which alone the mix is heard, in place, until another call; none: the whole mix. Figures of the mix are then
   * those of what is heard. Prints and questions about the mix are refused meanwhile; a session that is opened has none.
   */
  solo(ids: readonly string[]): void;
  /** Stops the loading or rendering in hand; the last render stays. `apply` takes it up again. */
  cancel(): void;

  play(): Promise<void>;
  pause(): void;
  seek(seconds: number): void;
  /** null: no loop. */
  loop(range: Range | null): void;
  /**
   * What is heard from now on, at the same place in the song. `throughSilence`: through a short silence whatever it leads to, so that
   * the switch itself tells nothing.
   */
  hear(heard: Heard, throughSilence?: boolean): void;
  /**
   * What is compared beside rough, received and mix, and so matched with them: passes are rendered in the background until
   * they can be heard, a mix without a path is measured before the others. A pass that is no longer named is not rendered
   * to its end.
   */
  compare(sides: readonly Heard[]): void;
  /** Matched listening on or off. */
  match(on: boolean): void;
  /** Level of the monitor, dB; the engine starts at -24. */
  monitor(levelDb: number): void;
  /** Lets what is heard pass a check of the monitor (null: none); the print is not touched. */
  check(check: MonitorCheck | null): void;
  /**
   * Calls `listener` with what the meters read, some 40 times a second while something plays; the answer ends that. While nobody
   * listens, nothing is measured.
   */
  listenToMeters(listener: (meters: Meters) => void): () => void;
  /**
   * Levels of the third octaves from 25 Hz up of what is heard now (over some third of a second, before the monitor), dB as in
   * `Figures.bands`; -Infinity in silence; none while nothing plays. Cheap enough to ask in every frame.
   */
  heardBands(): readonly number[];
  /** Where playing is, seconds; cheap enough to ask in every frame. */
  position(): number;

  /** Asks about the blend in hand. Rejects with one clear sentence; with an AbortError when it was withdrawn. */
  ask<Q extends Question>(question: Q, asking?: Asking<RowOf<Q>>): Promise<AnswerTo<Q>>;

  /**
   * Checks received files, holds them against each other, and explains the rough by its tracks; what is in hand stays as it is. Rejects
   * with a ProblemError where no track can be read, or the rough cannot; with an AbortError when it was withdrawn.
   */
  receive(files: ReceivedFiles, asking?: Asking): Promise<Received>;

  overview(heard: Heard): Overview | null;
  /** The envelope of a file that a processor works with, whole; null when it is not in hand. */
  soundOverview(file: string): Overview | null;
  /** Prints what is rendered. Rejects with one clear sentence; with an AbortError when it was stopped. */
  print(options: PrintOptions): Promise<PrintedSong<Blob>>;
  dispose(): void;
}
