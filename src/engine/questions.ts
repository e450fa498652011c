import type { BringUpStep } from '../blend/solve/bring-up.ts';
import type { Flow } from '../blend/ledger/flow.ts';
import type { Ledger, LedgerRow } from '../blend/ledger/ledger.ts';
import type { ProcessorRow } from '../blend/ledger/processor-rows.ts';
import type { BlendLimits, Solution, SolveStep } from '../blend/solve/solution.ts';
import type { Sweep, SweepAxis, SweepRow } from '../blend/sweep/sweep.ts';
import type { Fittable, FittedChain } from '../render/fit/fit-chain.ts';
import type { Reduction } from '../render/reduction.ts';
import type { Mp3Kbps } from '../files/mp3/mp3-write.ts';
import type { Heard } from '../audition/heard.ts';
import type { Range } from '../audio/range.ts';
import type { Section } from '../session/schema.ts';
import type { Overview } from './overview-columns.ts';

/** Figures along the blends of one bus, or of two as a grid. Paths that depend on those blends are rendered for each. */
export interface SweepQuestion {
  readonly kind: 'sweep';
  readonly axis: SweepAxis;
  readonly second?: SweepAxis;
  /** null: the whole song. */
  readonly section: Range | null;
}

/** The change that each path makes to the mix over a range, and the sources of its loudness. */
export interface LedgerQuestion {
  readonly kind: 'ledger';
  /** null: the whole song. */
  readonly section: Range | null;
}

/** The change that each processor of a group or bus makes to the mix over a range: the mix is rendered without each in turn. */
export interface ProcessorsQuestion {
  readonly kind: 'processors';
  readonly path: string;
  /** null: the whole song. */
  readonly section: Range | null;
}

/** Questions about the current blend: bringing up is measured before the mix bus, solving on the print. */
type BlendQuestion =
  /** Targets as the command line writes them: "crestDb=max", "stereo.sideToMidDb=-9". */
  | {
      readonly kind: 'solve';
      readonly targets: readonly string[];
      readonly limits: readonly (readonly [bus: string, BlendLimits])[];
      /** How far a blend without limits of its own may move from its value in the session, dB. */
      readonly withinDb: number;
    }
  | BringUpQuestion;

/** Pulls the buses in `order` down by so many dB (Infinity: closed) and brings them up one at a time. */
export interface BringUpQuestion {
  readonly kind: 'bring up';
  readonly order: readonly string[];
  readonly downDb: number;
}

/** Questions about one processor of a chain and its input. */
export interface StageQuestion {
  /**
   * match make-up: the make-up, dB, at which its output is as loud as its input; reduction: its gain reduction; stage spectrum:
   * spectra of input and output.
   */
  readonly kind: 'match make-up' | 'reduction' | 'stage spectrum';
  /** Group, bus or MIX. */
  readonly path: string;
  /** A processor of its chain. */
  readonly item: string;
  /** null: the whole song. */
  readonly range: Range | null;
}

/** Third octaves of a processor's input and output. */
export interface StageSpectrum {
  /** Middle of each band. */
  readonly hz: readonly number[];
  /** Levels, channels summed, dB; null in silence. */
  readonly before: readonly (number | null)[];
  readonly after: readonly (number | null)[];
}

/** The waveform of a side over a range, for the zoomed song strip. */
export interface WaveformQuestion {
  readonly kind: 'waveform';
  readonly side: Heard;
  readonly range: Range;
  /** Most columns; with fewer samples, one for each. */
  readonly columns: number;
}

/** A preset fitted to the input of a path's chain; the path's own chain does not matter. */
export interface FitQuestion {
  readonly kind: 'fit preset';
  /** Group, bus or MIX. */
  readonly path: string;
  readonly preset: Fittable;
  /** null: the whole song. */
  readonly range: Range | null;
}

/** A version that can be sent for approval. */
export type ApprovalSide = 'rough' | 'mix' | `pass:${string}`;

export interface ApprovalTask {
  /** Two or more, in the order of the page. */
  readonly sides: readonly ApprovalSide[];
  /** null: the whole song. */
  readonly section: Section | null;
  /** Version names stay hidden until the answers are saved. */
  readonly isBlind: boolean;
  readonly kbps: Mp3Kbps;
}

/** A page with versions of the song, matched in loudness, to be sent for approval. */
interface ApprovalQuestion extends ApprovalTask {
  readonly kind: 'approval';
}

export type Question =
  | BlendQuestion
  | SweepQuestion
  | LedgerQuestion
  | ProcessorsQuestion
  | (StageQuestion & { kind: 'match make-up' })
  | (StageQuestion & { kind: 'reduction' })
  | (StageQuestion & { kind: 'stage spectrum' })
  | FitQuestion
  | WaveformQuestion
  | ApprovalQuestion;

/** The ledger of a stretch, and its flow; before the mix bus. */
export interface StretchLedger extends Ledger {
  readonly flow: Flow;
}

/** The solution, also in sentences. */
export interface Solved {
  readonly solution: Solution;
  readonly headline: string;
  readonly sentences: readonly string[];
}

export interface Answers {
  readonly sweep: Sweep;
  readonly ledger: StretchLedger;
  readonly processors: readonly ProcessorRow[];
  readonly solve: Solved;
  readonly 'bring up': readonly BringUpStep[];
  /** null: there is no loudness to match. */
  readonly 'match make-up': number | null;
  /** null: its gain does not depend on level. */
  readonly reduction: Reduction | null;
  /** null: the range is empty. */
  readonly 'stage spectrum': StageSpectrum | null;
  readonly 'fit preset': FittedChain;
  /** null: that side cannot be read now. */
  readonly waveform: Overview | null;
  /** HTML. */
  readonly approval: string;
}

export type AnswerTo<Q extends Question> = Answers[Q['kind']];

/** Rows that are reported before the answer. */
interface Rows {
  readonly sweep: SweepRow;
  readonly ledger: LedgerRow;
  readonly solve: SolveStep;
}

export type RowOf<Q extends Question> = Q['kind'] extends keyof Rows ? Rows[Q['kind']] : never;

export interface Asking<Row = never> {
  /** Part done, 0..1. */
  readonly onProgress?: (part: number) => void;
  /** Called with each row once, as soon as it is measured. */
  readonly onRow?: (row: Row) => void;
  readonly signal?: AbortSignal;
}

/** Reasons why there is no answer. */
export const SOUND_CHANGED = 'The mix has changed meanwhile: ask again.';
export const NOTHING_SOUNDS = 'Nothing sounds in this mix: switch a track on, or add one.';
export const NO_ANSWER = 'There is a fault in the app: ask again, or open the session again.';
