import { HIGH_CUT_OFF, LOW_CUT_OFF } from './cut-filters.ts';
import { type BandSettings, FilterBand } from './filter-band.ts';

const cut = (shape: 'low cut' | 'high cut', hz: number): BandSettings => ({
  on: shape === 'low cut' ? hz > LOW_CUT_OFF : hz < HIGH_CUT_OFF,
  shape,
  order: 2,
  hz,
  gainDb: 0,
  q: Math.SQRT1_2,
  channels: 'both',
});

/**
 * Low cut and high cut of 12 dB an octave for a side-chain signal. Off, at
 * LOW_CUT_OFF and HIGH_CUT_OFF, either changes nothing.
 */
export class SideChainFilter {
  private readonly low: FilterBand;
  private readonly high: FilterBand;

  /** Corners in Hz. */
  constructor(lowCut: number, highCut: number, sampleRate: number) {
    this.low = new FilterBand(cut('low cut', lowCut), sampleRate);
    this.high = new FilterBand(cut('high cut', highCut), sampleRate);
  }

  set(lowCut: number, highCut: number): void {
    this.low.set(cut('low cut', lowCut));
    this.high.set(cut('high cut', highCut));
  }

  control(): void {
    this.low.control();
    this.high.control();
  }

  /** Frames 0..frames-1 in place. */
  process(left: Float64Array, right: Float64Array, frames: number): void {
    this.low.process(left, right, 0, frames);
    this.high.process(left, right, 0, frames);
  }

  reset(): void {
    this.low.reset();
    this.high.reset();
  }
}
