import type { BandGram } from '../../blend/gram/band-gram.ts';
import type { LedgerBasis, LedgerInput } from '../../blend/ledger/ledger.ts';
import { GramQuery, renewedTimeSteps, type TimeProducts } from '../../blend/gram/make-blend-query.ts';
import type { BandsClient } from './bands-client.ts';
import { inSlices, pause, reportingSteps } from '../slices.ts';

/** Builds the query of a basis: bands are computed in their own thread while the time products are computed here. */
export class BasisBuild {
  private readonly timing: Generator<number, TimeProducts>;
  private time: TimeProducts | null = null;
  private readonly banding: Promise<unknown>;
  private bands: BandGram | null = null;

  /** `before`: the last query; products of unchanged sounds are reused. */
  constructor(
    readonly inputs: readonly LedgerInput[],
    before: LedgerBasis | null,
    keeper: BandsClient,
    /** Length of the song. */
    readonly frames: number,
  ) {
    this.banding = keeper.of(inputs.map(({ audio }) => audio)).then((bands) => (this.bands = bands));
    this.timing = renewedTimeSteps(before?.query.time ?? null, inputs);
  }

  /** Runs to the end, reporting the part done (0..1); null: stopped because `isOver` returned true, and can be resumed. */
  async advance(isOver: () => boolean, onPart: (part: number) => void = () => {}): Promise<GramQuery | null> {
    this.time ??= await inSlices(reportingSteps(this.timing, onPart), isOver);
    while (this.time && !this.bands) {
      await Promise.race([this.banding, pause()]);
      if (isOver()) return null;
    }
    if (!this.time || !this.bands) return null;
    return new GramQuery(this.time, this.bands, null);
  }
}
