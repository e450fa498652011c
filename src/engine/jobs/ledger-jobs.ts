import type { Ledger } from '../../blend/ledger/ledger.ts';
import type { QueryPath } from '../../blend/gram/make-blend-query.ts';
import type { Audio } from '../../audio/audio.ts';
import type { Figures } from '../../measure/figures.ts';
import type { Frames } from '../excerpt.ts';

/** How loud each path of the mix in hand is, linear. */
type Gains = readonly (readonly [string, number])[];

/** A part of a ledger with all that it takes to answer it: plain data, which crosses into the worker. */
export type LedgerJob =
  /** K-weighted energy of a sound, which moves over. */
  | { readonly part: 'energy'; readonly audio: Audio }
  /** What every path of the mix in hand does over the stretch; `received` are the groups as received, whole. */
  | {
      readonly part: 'paths';
      readonly received: readonly QueryPath[];
      readonly gains: Gains;
      /** Length of the song that it is asked of. */
      readonly soundFrames: number;
      readonly frames: Frames | null;
    }
  /** Figures of the mix in hand over the stretch, where `sounds` stand there in place of the paths of their names. */
  | {
      readonly part: 'mix';
      readonly sounds: readonly QueryPath[];
      readonly gains: Gains;
      readonly soundFrames: number;
      readonly frames: Frames;
    };

/** What every path does, and how strong its sound is. */
export interface MeasuredPaths {
  readonly ledger: Ledger;
  /** K-weighted energy of each path before its fader or blend. */
  readonly energies: readonly (readonly [string, number])[];
}

interface LedgerParts {
  readonly energy: number;
  readonly paths: MeasuredPaths;
  readonly mix: Figures;
}

export type LedgerPart<J extends LedgerJob = LedgerJob> = LedgerParts[J['part']];
