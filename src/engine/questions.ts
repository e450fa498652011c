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

/** Figures along the blends of one bus, or of two as a grid. Paths that hang on those blends are rendered for each. */
export interface SweepQuestion {
  readonly kind: 'sweep';
  readonly axis: SweepAxis;
  readonly second?: SweepAxis;
  /** null: the whole song. */
  readonly section: Range | null;
}

/** What each path does to the mix over a stretch, and where its loudness comes from. */
export interface LedgerQuestion {
  readonly kind: 'ledger';
  /** null: the whole song. */
  readonly section: Range | null;
}

/** What each processor of a group or bus does to the mix over a stretch: the mix is rendered without each in turn. */
export interface ProcessorsQuestion {
  readonly kind: 'processors';
  readonly path: string;
  /** null: the whole song. */
  readonly section: Range | null;
}

/** What can be asked of the blend in hand: bringing up is before the mix bus, what is solved for is that of the print. */
export type BlendQuestion =
  /** Targets as the command line writes them: "crestDb=max", "stereo.sideToMidDb=-9". */
  | {
      readonly kind: 'solve';
      readonly targets: readonly string[];
      readonly limits: readonly (readonly [bus: string, BlendLimits])[];
      /** How far a blend may move from where it is where no limit says otherwise, dB. */
      readonly withinDb: number;
    }
  | BringUpQuestion;

/** Pulls the buses in `order` down by so many dB (Infinity: closed) and brings them up one at a time. */
export interface BringUpQuestion {
  readonly kind: 'bring up';
  readonly order: readonly string[];
  readonly downDb: number;
}

/** What can be asked of one processor of a chain, and of the sound that reaches it there. */
export interface StageQuestion {
  /**
   * match make-up: the make-up, dB, at which it is as loud as what comes in; reduction: how far it turns down; spectrum: of
   * what comes in and what goes out.
   */
  readonly kind: 'match make-up' | 'reduction' | 'stage spectrum';
  /** Group, bus or MIX. */
  readonly path: string;
  /** A processor of its chain. */
  readonly item: string;
  /** null: the whole song. */
  readonly range: Range | null;
}

/** Third octaves of the sound around a processor. */
export interface StageSpectrum {
  /** Middle of each band. */
  readonly hz: readonly number[];
  /** Levels, channels summed, dB; null: nothing is there. */
  readonly before: readonly (number | null)[];
  readonly after: readonly (number | null)[];
}

/** The samples of what is heard over a stretch, as a strip that is zoomed in shows them. */
export interface WaveformQuestion {
  readonly kind: 'waveform';
  readonly side: Heard;
  readonly range: Range;
  /** At most so many; of a stretch with fewer samples, one for each. */
  readonly columns: number;
}

/** A preset set for what comes to the chain of a path, whose own chain it does not ask for. */
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
  /** Two or more, in the order in which they stand on the page. */
  readonly sides: readonly ApprovalSide[];
  /** null: the whole song. */
  readonly section: Section | null;
  /** Names stay hidden until the answers are saved. */
  readonly isBlind: boolean;
  readonly kbps: Mp3Kbps;
}

/** A page with versions of the song, matched in loudness, to be sent for approval. */
export interface ApprovalQuestion extends ApprovalTask {
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

/** What the solver found, and the same in sentences. */
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
  /** null: it does not turn down by level. */
  readonly reduction: Reduction | null;
  /** null: the stretch is empty. */
  readonly 'stage spectrum': StageSpectrum | null;
  readonly 'fit preset': FittedChain;
  /** null: that side cannot be read now. */
  readonly waveform: Overview | null;
  /** HTML. */
  readonly approval: string;
}

export type AnswerTo<Q extends Question> = Answers[Q['kind']];

/** What is told row by row on the way to the answer. */
interface Rows {
  readonly sweep: SweepRow;
  readonly ledger: LedgerRow;
  readonly solve: SolveStep;
}

export type RowOf<Q extends Question> = Q['kind'] extends keyof Rows ? Rows[Q['kind']] : never;

export interface Asking<Row = never> {
  /** Part done, 0..1. */
  readonly onProgress?: (part: number) => void;
  /** Each row once, as soon as it is measured. */
  readonly onRow?: (row: Row) => void;
  readonly signal?: AbortSignal;
}

/** Why there is no answer. */
export const SOUND_CHANGED = 'The sound of the mix has changed meanwhile: ask again.';
export const NOTHING_SOUNDS = 'Nothing sounds in this mix: switch a track on, or add one.';
export const NO_ANSWER = 'There is a fault in the app: ask again, or open the session again.';
