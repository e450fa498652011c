import type { BandGram } from '../../blend/gram/band-gram.ts';
import type { LedgerBasis, LedgerInput } from '../../blend/ledger/ledger.ts';
import { GramQuery, renewedTimeSteps, type TimeProducts } from '../../blend/gram/make-blend-query.ts';
import type { BandsClient } from './bands-client.ts';
import { inSlices, pause, toldOf } from '../slices.ts';

/** The query of a basis in the making: its bands are made in their own thread while the products in time are made here. */
export class BasisBuild {
  private readonly timing: Generator<number, TimeProducts>;
  private time: TimeProducts | null = null;
  private readonly banding: Promise<unknown>;
  private bands: BandGram | null = null;

  /** `before`: the last one, which is taken over from what has not changed. */
  constructor(
    readonly inputs: readonly LedgerInput[],
    before: LedgerBasis | null,
    keeper: BandsClient,
    /** Length of the song that it is of. */
    readonly frames: number,
  ) {
    this.banding = keeper.of(inputs.map(({ audio }) => audio)).then((bands) => (this.bands = bands));
    this.timing = renewedTimeSteps(before?.query.time ?? null, inputs);
  }

  /** Goes on until it is made, and tells how far it is (0..1); null: `isOver` came true, and it can go on from there. */
  async advance(isOver: () => boolean, onPart: (part: number) => void = () => {}): Promise<GramQuery | null> {
    this.time ??= await inSlices(toldOf(this.timing, onPart), isOver);
    while (this.time && !this.bands) {
      await Promise.race([this.banding, pause()]);
      if (isOver()) return null;
    }
    if (!this.time || !this.bands) return null;
    return new GramQuery(this.time, this.bands, null);
  }
}
