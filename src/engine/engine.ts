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
  /** empty: no session. rendering: the last render is still heard. failed: `message` is one clear sentence. */
  readonly phase: 'empty' | 'loading' | 'rendering' | 'ready' | 'failed';
  /** 0..1 while loading or rendering. */
  readonly progress: number;
  /** The running work or the fault, in plain words; '' when there is neither. */
  readonly message: string;
}

/** Change that one path (group or bus) makes to the mix before the mix bus. */
export interface PathFindings {
  /** Part of the mix's K-weighted energy, -1..1 and more; below 0 the path cancels the others. null in silence. */
  readonly shareOfLoudness: number | null;
  /** Figures of the mix without the path. */
  readonly without: Figures;
  /** The mix with the path minus the mix without it. */
  readonly change: FigureChange;
  readonly alignment: {
    /** Delay (positive: late) of the path against what it doubles, samples at the session's rate; null: not known. */
    readonly lagSamples: number | null;
    readonly polarity: 1 | -1;
    /** Largest reduction of a third octave that the path causes by cancellation, dB, at most 0; null where nothing overlaps. */
    readonly cancelsDb: number | null;
  };
  /** Possible faults, each with what to do; empty if there are none. */
  readonly flags: readonly Flag[];
  /** The change that the path makes, in one sentence. */
  readonly sentence: string;
  /** True while figures of single samples (crest, peaks) are those from before the last move. */
  readonly arePeaksOld?: boolean;
}

/** All figures of one side over the whole song. */
export interface SideFindings extends Measurement {
  readonly details: Details;
  readonly overTime: OverTime;
}

/** All figures of one side over a section. */
export interface SectionSide extends Measurement {
  readonly details: Details;
}

/** Figures of the section in loop. */
export interface SectionFindings {
  readonly range: Range;
  readonly rough: SectionSide | null;
  readonly received: SectionSide | null;
  /** After the mix bus. */
  readonly mix: SectionSide;
  /**
   * True: measured from a render that begins some seconds before the section (as long as the chains' memory); figures from the whole song follow.
   */
  readonly isEarly: boolean;
}

export interface Findings {
  readonly rough: SideFindings | null;
  /** The tracks alone, summed. */
  readonly received: SideFindings | null;
  /** The mix as printed, after the mix bus. */
  readonly mix: SideFindings | null;
  /** The blend of all paths, before the mix bus; updated at once when a blend moves. */
  readonly beforeMixBus: Figures | null;
  /** By the id of the group or bus. */
  readonly paths: ReadonlyMap<string, PathFindings>;
  /** Results of the guards on the print. */
  readonly guards: readonly GuardResult[] | null;
  /** The section in loop: updated soon after a move, before the whole song is rendered and measured. null: there is none, or not yet. */
  readonly section: SectionFindings | null;
}

/** The compared sides, and what is known of each. */
export interface Comparison {
  /**
   * Integrated loudness of each side over the section in loop, else the whole song, before it is turned down, LUFS. null:
   * it has none (silent, too short); absent: not measured yet.
   */
  readonly levels: ReadonlyMap<Heard, number | null>;
  /** Sides whose level is an estimate or from before the last change; the measured one is on its way. */
  readonly unsettled: ReadonlySet<Heard>;
  /** Passes that are being rendered or wait for it, by id: the part done, 0..1. */
  readonly preparing: ReadonlyMap<string, number>;
  /** Why a pass cannot be heard, by its id: one sentence. */
  readonly faults: ReadonlyMap<string, string>;
}

/** Everything that the screen shows of the engine, replaced whole at every change. */
export interface EngineView {
  readonly state: EngineState;
  readonly findings: Findings;
  /** True once all findings are those of the current session. */
  readonly isMeasured: boolean;
  /** Part of the running measurement that is done, 0..1. */
  readonly measuredPart: number;
  /** Length of the song until its last tail has died away, seconds; 0 when there is none. */
  readonly seconds: number;
  /** Warning about the storage of sound, one sentence; '' if there is none. */
  readonly storage: string;
  /** Files that the session names and that are missing. */
  readonly missing: readonly string[];
  readonly playing: boolean;
  /** True while playing waits for sound that is still being rendered: it goes on by itself. */
  readonly waits: boolean;
  /** Sides that can be played now: the rough as soon as it is read, others once rendered and their level is known. */
  readonly audible: readonly Heard[];
  /** Loudness to which all compared sides are turned down, LUFS; null while a level is not known. */
  readonly matchedLufs: number | null;
  readonly comparison: Comparison;
  /** The path that runs live while it is edited, so that a move is heard at once; null: none. */
  readonly live: {
    readonly path: string | null;
    /** Why the edited path does not run live, in one sentence; '' if it does or none is edited. */
    readonly note: string;
  };
}

export interface PrintOptions extends PrintOrder {
  readonly onProgress?: (progress: number) => void;
  readonly signal?: AbortSignal;
}

/** Format and length of a dropped file. */
export interface AudioFileFacts {
  readonly path: string;
  readonly seconds: number;
  readonly sampleRate: number;
  readonly channels: number;
}

/** Audio files by the path that the session calls them. */
export type AudioFiles = ReadonlyMap<string, Blob>;

/**
 * The engine behind the screen: reads files, renders paths, measures, plays. It never edits a session.
 * Promises reject with ProblemError (or AbortError after a cancel), and the previous state stays unchanged.
 */
export interface Engine {
  readonly view: EngineView;
  /** Calls `listener` after every change of `view`; the returned function ends that. */
  listen(listener: () => void): () => void;

  /**
   * Opens a session with its files in place of the last one; files that are not given are listed in `view.missing`.
   * Resolves once the files are read; rendering goes on in the background. When it rejects, the last session stays open.
   */
  open(session: Session, files: AudioFiles): Promise<void>;
  /** Reads more files, before or after a session names them; renders once none is missing. */
  addFiles(files: AudioFiles): Promise<readonly AudioFileFacts[]>;
  /** The session after an edit: blends and faders move at once, what else changed is rendered in the background. */
  apply(session: Session): void;
  /**
   * The group, bus or track whose chain is or will be edited: while the song plays it runs live, with all that
   * it feeds, so that its moves are heard at once. null: none.
   */
  touch(path: string | null): void;
  /**
   * Solo in place of these tracks, groups and buses, until another call; none: the whole mix. Figures of the mix are then
   * those of the soloed mix. Prints and questions about the mix are refused meanwhile; opening a session ends solo.
   */
  solo(ids: readonly string[]): void;
  /** Stops the running loading or rendering; the last render stays. `apply` resumes it. */
  cancel(): void;

  play(): Promise<void>;
  pause(): void;
  seek(seconds: number): void;
  /** null: no loop. */
  loop(range: Range | null): void;
  /**
   * Switches to a side at the same place in the song. `throughSilence`: always through a short silence, so that
   * the sound of the switch gives no clue in a blind trial.
   */
  hear(heard: Heard, throughSilence?: boolean): void;
  /**
   * Sides that are compared beside rough, received and mix, and matched with them: passes are rendered in the background until
   * they can be heard, a mix without a path is measured before the others. A pass that is no longer named is not rendered
   * to its end.
   */
  compare(sides: readonly Heard[]): void;
  /** Matched listening on or off. */
  match(on: boolean): void;
  /** Level of the monitor, dB; the engine starts at -24. */
  monitor(levelDb: number): void;
  /** Switches a monitor check on (null: off); the print is not affected. */
  check(check: MonitorCheck | null): void;
  /**
   * Calls `listener` with the meters' values, some 40 times a second while something plays; the returned function ends that. Without
   * a listener nothing is measured.
   */
  listenToMeters(listener: (meters: Meters) => void): () => void;
  /**
   * Levels of the third octaves from 25 Hz up of what is heard now (over some third of a second, before the monitor), dB as in
   * `Figures.bands`; -Infinity in silence; none while nothing plays. Quick enough to read in every frame.
   */
  heardBands(): readonly number[];
  /** Playback position, seconds; quick enough to read in every frame. */
  position(): number;

  /** Asks about the current blend. Rejects with one clear sentence; with an AbortError when aborted. */
  ask<Q extends Question>(question: Q, asking?: Asking<RowOf<Q>>): Promise<AnswerTo<Q>>;

  /**
   * Checks received files singly and in pairs, and explains the rough by its tracks; the open session is not affected. Rejects
   * with a ProblemError where no track can be read, or the rough cannot; with an AbortError when aborted.
   */
  receive(files: ReceivedFiles, asking?: Asking): Promise<Received>;

  overview(heard: Heard): Overview | null;
  /** The envelope of a file that a processor uses, whole; null when the file is missing. */
  soundOverview(file: string): Overview | null;
  /** Prints the rendered mix. Rejects with one clear sentence; with an AbortError when it was stopped. */
  print(options: PrintOptions): Promise<PrintedSong<Blob>>;
  dispose(): void;
}
