import type { GuardResult } from '../../blend/guards/guards.ts';
import type { LedgerRow } from '../../blend/ledger/ledger.ts';
import type { SweepRow } from '../../blend/sweep/sweep.ts';
import type { Audio } from '../../audio/audio.ts';
import type { PathOrigin } from '../../dsp/core/arrival.ts';
import type { Figures } from '../../measure/figures.ts';
import type { PlanMixBus } from '../../render/plan.ts';
import type { Session } from '../../session/schema.ts';
import type { Heard, Overview, SideFindings } from '../engine.ts';
import type { Frames } from '../excerpt.ts';
import type { LedgerJob, LedgerPart } from '../jobs/ledger-jobs.ts';
import type { Answers, BlendQuestion, Question } from '../questions.ts';
import type { LedMix } from '../jobs/solve-desk.ts';
import type { FitJob, StageJob } from '../jobs/stage-desk.ts';
import type { SweepJob } from '../jobs/sweep-job.ts';

/** A rendered path; its sound has gone before it, or the worker has it already. */
export interface PathSound extends PathOrigin {
  readonly id: string;
}

/** What the worker is told. */
export type FindingsRequest =
  | { readonly kind: 'measure'; readonly side: 'rough' | 'received'; readonly audio: Audio; readonly seconds: number }
  /** A sound for what is told next: "path ID" or "group ID". */
  | { readonly kind: 'sound'; readonly name: string; readonly audio: Audio }
  | { readonly kind: 'paths'; readonly paths: readonly PathSound[] }
  | {
      readonly kind: 'blend';
      readonly ticket: number;
      readonly session: Session;
      /** Which of the two are there to be held against. */
      readonly against: readonly ('rough' | 'received')[];
      readonly gains: readonly (readonly [string, number])[];
      readonly mixBus: PlanMixBus;
      readonly soundFrames: number;
      readonly seconds: number;
    }
  /** The loudness of the newest blend over a stretch: as it is (mix), or without a path. */
  | {
      readonly kind: 'levels';
      readonly ticket: number;
      /** What is compared, in order: measured before all else. */
      readonly compared: readonly Heard[];
      /** What may be compared next: measured when there is nothing else to do. */
      readonly others: readonly Heard[];
      readonly frames: Frames | null;
    }
  /** Nothing sounds: there are no paths and no blend. */
  | { readonly kind: 'nothing'; readonly ticket: number }
  /** The groups as received: only their shares are kept. */
  | { readonly kind: 'groups'; readonly ids: readonly string[] }
  /** A question about the newest blend, and its withdrawal. */
  | { readonly kind: 'ask'; readonly ticket: number; readonly question: BlendQuestion }
  /** The mix that was asked for with 'led', or why there is none. */
  | { readonly kind: 'mix with'; readonly ticket: number; readonly mix: LedMix | string }
  /** A question about one processor, with the sound that comes to its chain. */
  | { readonly kind: 'stage'; readonly ticket: number; readonly job: StageJob | FitJob }
  /** A part of a sweep. */
  | { readonly kind: 'sweep'; readonly ticket: number; readonly job: SweepJob }
  /** A part of a ledger over a stretch. */
  | { readonly kind: 'ledger'; readonly ticket: number; readonly job: LedgerJob }
  | { readonly kind: 'forget'; readonly ticket: number }
  /** The loudness of a sound as a whole. */
  | { readonly kind: 'loudness'; readonly ticket: number; readonly audio: Audio };

/** What the worker answers, as soon as each part is known. */
export type FindingsReply =
  /** Its modules are loaded: from now on nothing that it is told is lost. */
  | { readonly kind: 'listening' }
  | {
      readonly kind: 'measured';
      readonly side: 'rough' | 'received';
      readonly measurement: SideFindings;
      readonly overview: Overview;
    }
  | { readonly kind: 'mix'; readonly ticket: number; readonly printed: SideFindings; readonly overview: Overview }
  | { readonly kind: 'sum'; readonly ticket: number; readonly figures: Figures }
  /** `quick`: their peaks are not known yet, the whole rows follow. */
  | {
      readonly kind: 'rows';
      readonly ticket: number;
      readonly rows: readonly LedgerRow[];
      readonly quick: boolean;
    }
  | { readonly kind: 'guards'; readonly ticket: number; readonly results: readonly GuardResult[] }
  /** While blends are looked for: the mix is wanted with these, dB by bus. */
  | { readonly kind: 'led'; readonly ticket: number; readonly blends: ReadonlyMap<string, number> }
  /** How much of the measuring of this blend is done, 0..1. */
  | { readonly kind: 'measuring'; readonly ticket: number; readonly part: number }
  /** All that can be told of this blend has been told. */
  | { readonly kind: 'settled'; readonly ticket: number }
  | { readonly kind: 'part'; readonly ticket: number; readonly part: number }
  /** One row of the answer that is being made. */
  | { readonly kind: 'row'; readonly ticket: number; readonly row: SweepRow | LedgerRow }
  | { readonly kind: 'answer'; readonly ticket: number; readonly answer: Answers[Question['kind']] | LedgerPart }
  | { readonly kind: 'refusal'; readonly ticket: number; readonly message: string }
  | {
      readonly kind: 'level';
      readonly ticket: number;
      readonly side: Heard;
      readonly lufs: number | null;
      /** False: an estimate, the measured one follows. */
      readonly settled: boolean;
    }
  | { readonly kind: 'loudness'; readonly ticket: number; readonly lufs: number | null };
