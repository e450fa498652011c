import type { Sound } from '../../audio/audio.ts';
import { gainOf } from '../../audio/decibels.ts';
import type { GuardInForce } from '../../session/guard-set.ts';
import { CLOSED_DB } from '../../session/schema.ts';
import { groupSharesOf, type Origin } from '../guards/balance.ts';
import type { BlendEssentials } from '../gram/blend-figures.ts';
import type { BlendQuery } from '../gram/blend-query.ts';
import type { Guarded, GuardReference } from '../guards/guards.ts';
import { levelledBands } from '../../measure/levelled.ts';

/** A path with its sound and its settings in the session. */
export interface SpacePath {
  readonly id: string;
  readonly name: string;
  readonly kind: 'group' | 'bus';
  /** Stereo, the stretch that is measured. */
  readonly audio: Sound;
}

/** The paths of one mix, their query over one section, guards and references: all that is needed to judge blends. */
export interface BlendSpace {
  readonly paths: readonly SpacePath[];
  readonly query: BlendQuery;
  /** The blend as the session has it, linear, in the order of the paths. */
  readonly gains: readonly number[];
  /**
   * Gain between the sum and the print, dB; null where a mix bus chain follows: the peaks after it are not known
   * until it is rendered.
   */
  readonly trimDb: number | null;
  readonly origins: ReadonlyMap<string, Origin>;
  readonly guards: readonly GuardInForce[];
  readonly references: readonly GuardReference[];
}

/** Linear gain of a blend in dB; 0 at CLOSED_DB and below. */
export const blendGain = (db: number): number => (db <= CLOSED_DB ? 0 : gainOf(db));

/** Figures of a blend that are known already and need not be computed. */
interface Known {
  readonly essentials?: BlendEssentials;
  /** Before the trim. */
  readonly truePeakDbtp?: number | null;
}

/** A blend as guards look at it, after the trim; its parts are computed when they are first asked for. */
export class GuardedBlend implements Guarded {
  private peak: number | null | undefined;
  private shares: ReadonlyMap<string, number> | null | undefined;
  readonly integratedLufs: number | null;
  readonly loudnessRangeLu: number | null;
  readonly stereo: BlendEssentials['stereo'];
  readonly bands: BlendEssentials['bands'];

  constructor(
    private readonly space: BlendSpace,
    private readonly gains: readonly number[],
    { essentials = space.query.essentials(gains), truePeakDbtp }: Known = {},
  ) {
    const trim = space.trimDb ?? 0;
    this.integratedLufs = essentials.integratedLufs === null ? null : essentials.integratedLufs + trim;
    this.loudnessRangeLu = essentials.loudnessRangeLu;
    this.stereo = essentials.stereo;
    this.bands = levelledBands(essentials.bands, trim);
    this.peak = truePeakDbtp;
  }

  get peaksFollow(): boolean {
    return this.space.trimDb === null;
  }

  get truePeakDbtp(): number | null {
    const { trimDb, query } = this.space;
    if (trimDb === null) return null;
    if (this.peak === undefined) this.peak = query.truePeakDbtp(this.gains);
    return this.peak === null ? null : this.peak + trimDb;
  }

  get lowsCorrelation(): number | null {
    return this.space.query.lowsCorrelation(this.gains);
  }

  get groupShares(): ReadonlyMap<string, number> | null {
    const { query, origins } = this.space;
    if (this.shares === undefined) this.shares = groupSharesOf(query.ids, query.shares(this.gains), origins);
    return this.shares;
  }
}
