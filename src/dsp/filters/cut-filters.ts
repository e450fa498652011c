import { flushVanished, onePole } from './one-pole.ts';
import { Ramp } from '../core/ramp.ts';

/** At this setting and below the low cut is off, Hz. */
export const LOW_CUT_OFF = 20;
/** At this setting and above the high cut is off, Hz. */
export const HIGH_CUT_OFF = 20000;

/** Corners, Hz, of those of the two cuts that are on. */
export const cutCorners = ({ lowCut, highCut }: { readonly lowCut: number; readonly highCut: number }): number[] => [
  ...(lowCut > LOW_CUT_OFF ? [lowCut] : []),
  ...(highCut < HIGH_CUT_OFF ? [highCut] : []),
];

const LEFT = 0;
const RIGHT = 1;

/** One one-pole cut of 6 dB/oct for two channels. Off, it is left out and changes nothing. */
class Cut {
  private readonly pole: Ramp;
  /** Crossfade of the filter: 0 off, 1 on. */
  private readonly share: Ramp;
  private readonly state = new Float64Array(2);
  /** The removed part is `input` x + `low` lowpass(x). */
  private readonly input: number;
  private readonly low: number;

  constructor(kind: 'low' | 'high', sampleRate: number) {
    this.pole = new Ramp(0, sampleRate);
    this.share = new Ramp(0, sampleRate);
    this.input = kind === 'high' ? 1 : 0;
    this.low = kind === 'high' ? -1 : 1;
  }

  set(pole: number, on: boolean): void {
    this.pole.set(pole);
    this.share.set(on ? 1 : 0);
  }

  control(): void {
    this.pole.control();
    this.share.control();
    if (this.off) this.state.fill(0);
    flushVanished(this.state);
  }

  process(left: Float64Array, right: Float64Array, count: number, position: number): void {
    if (this.off) return;
    const { pole, share, input, low, state } = this;
    let stateLeft = state[LEFT]!;
    let stateRight = state[RIGHT]!;
    for (let i = 0; i < count; i++) {
      const k = position + i;
      const rate = pole.value + pole.step * k;
      const taken = share.value + share.step * k;
      const inLeft = left[i]!;
      const inRight = right[i]!;
      const moveLeft = rate * (inLeft - stateLeft);
      const moveRight = rate * (inRight - stateRight);
      left[i] = inLeft - taken * (input * inLeft + low * (stateLeft + moveLeft));
      right[i] = inRight - taken * (input * inRight + low * (stateRight + moveRight));
      stateLeft += 2 * moveLeft;
      stateRight += 2 * moveRight;
    }
    state[LEFT] = stateLeft;
    state[RIGHT] = stateRight;
  }

  clear(): void {
    this.state.fill(0);
  }

  reset(): void {
    this.pole.reset();
    this.share.reset();
    this.clear();
  }

  private get off(): boolean {
    return this.share.settled && this.share.value === 0;
  }
}

/**
 * A low cut and a high cut of 6 dB/oct for two channels; the corner is 3 dB down. Off, either is left out and changes
 * nothing.
 */
export class CutFilters {
  private readonly low: Cut;
  private readonly high: Cut;

  constructor(
    lowCut: number,
    highCut: number,
    private readonly sampleRate: number,
  ) {
    this.low = new Cut('low', sampleRate);
    this.high = new Cut('high', sampleRate);
    this.set(lowCut, highCut);
    this.reset();
  }

  /** Corners in Hz. */
  set(lowCut: number, highCut: number): void {
    this.low.set(onePole(lowCut, this.sampleRate), lowCut > LOW_CUT_OFF);
    this.high.set(onePole(highCut, this.sampleRate), highCut < HIGH_CUT_OFF);
  }

  control(): void {
    this.low.control();
    this.high.control();
  }

  /** Frames 0..count-1 in place; `position` frames of the control block are already done. */
  process(left: Float64Array, right: Float64Array, count: number, position: number): void {
    this.low.process(left, right, count, position);
    this.high.process(left, right, count, position);
  }

  /** Forgets the sound, not the settings. */
  clear(): void {
    this.low.clear();
    this.high.clear();
  }

  reset(): void {
    this.low.reset();
    this.high.reset();
  }
}
