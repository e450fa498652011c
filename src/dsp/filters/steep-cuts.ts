import { butterworthQ } from './band-design.ts';
import { HIGH_CUT_OFF, LOW_CUT_OFF } from './cut-filters.ts';
import { flushVanished, onePoleTail } from './one-pole.ts';
import { Ramp } from '../core/ramp.ts';

/** Order of a steep cut: 0 is off, 6 dB/oct each. */
export type SteepOrder = 0 | 2 | 4;

/**
 * Second-order section of a cut for two channels: a state-variable filter by trapezoidal integration (Zavalishin 2012), which
 * stays stable and quiet while its corner moves. `share` is the crossfade, 0 off to 1 on.
 */
class CutSection {
  private readonly corner: Ramp;
  private readonly damping: Ramp;
  private readonly share: Ramp;
  /** Two memories a channel. */
  private readonly state = new Float64Array(4);

  constructor(
    private readonly kind: 'low' | 'high',
    sampleRate: number,
  ) {
    this.corner = new Ramp(0, sampleRate);
    this.damping = new Ramp(1, sampleRate);
    this.share = new Ramp(0, sampleRate);
  }

  /** @param corner tangent of half its angle; @param damping 1 / q */
  set(corner: number, damping: number, on: boolean): void {
    this.corner.set(corner);
    this.damping.set(damping);
    this.share.set(on ? 1 : 0);
  }

  control(): void {
    this.corner.control();
    this.damping.control();
    this.share.control();
    if (this.off) this.state.fill(0);
    flushVanished(this.state);
  }

  process(left: Float64Array, right: Float64Array, count: number, position: number): void {
    if (this.off) return;
    this.cut(left, 0, count, position);
    this.cut(right, 2, count, position);
  }

  clear(): void {
    this.state.fill(0);
  }

  reset(): void {
    this.corner.reset();
    this.damping.reset();
    this.share.reset();
    this.clear();
  }

  private get off(): boolean {
    return this.share.settled && this.share.value === 0;
  }

  private cut(samples: Float64Array, memory: 0 | 2, count: number, position: number): void {
    const { corner, damping, share, state } = this;
    const highs = this.kind === 'low';
    let s1 = state[memory]!;
    let s2 = state[memory + 1]!;
    for (let i = 0; i < count; i++) {
      const k = position + i;
      const g = corner.value + corner.step * k;
      const d = damping.value + damping.step * k;
      const x = samples[i]!;
      const band = (s1 + g * (x - s2)) / (1 + g * (g + d));
      const low = s2 + g * band;
      const kept = highs ? x - d * band - low : low;
      samples[i] = x + (share.value + share.step * k) * (kept - x);
      s1 = 2 * band - s1;
      s2 = 2 * low - s2;
    }
    state[memory] = s1;
    state[memory + 1] = s2;
  }
}

/** A low cut and a high cut of 12 or 24 dB/oct (Butterworth: 3 dB down at the corner) for two channels; off they are wires. */
export class SteepCuts {
  private readonly low: readonly [CutSection, CutSection];
  private readonly high: readonly [CutSection, CutSection];
  private readonly sections: readonly CutSection[];

  constructor(
    lowCut: number,
    highCut: number,
    order: SteepOrder,
    private readonly sampleRate: number,
  ) {
    this.low = [new CutSection('low', sampleRate), new CutSection('low', sampleRate)];
    this.high = [new CutSection('high', sampleRate), new CutSection('high', sampleRate)];
    this.sections = [...this.low, ...this.high];
    this.set(lowCut, highCut, order);
    this.reset();
  }

  /** Corners in Hz. */
  set(lowCut: number, highCut: number, order: SteepOrder): void {
    this.aim(this.low, lowCut, order, lowCut > LOW_CUT_OFF);
    this.aim(this.high, highCut, order, highCut < HIGH_CUT_OFF);
  }

  control(): void {
    for (const section of this.sections) section.control();
  }

  /** Frames 0..count-1 in place; `position` frames of the control block are already done. */
  process(left: Float64Array, right: Float64Array, count: number, position: number): void {
    for (const section of this.sections) section.process(left, right, count, position);
  }

  /** Forgets the sound, not the settings. */
  clear(): void {
    for (const section of this.sections) section.clear();
  }

  reset(): void {
    for (const section of this.sections) section.reset();
  }

  private aim([first, second]: readonly [CutSection, CutSection], hz: number, order: SteepOrder, on: boolean): void {
    const corner = Math.tan(Math.PI * Math.min(hz / this.sampleRate, 0.49));
    const q = (index: number): number => butterworthQ(order === 4 ? 4 : 2, order === 4 ? index : 0);
    first.set(corner, 1 / q(0), on && order > 0);
    second.set(corner, 1 / q(1), on && order === 4);
  }
}

/** Samples in which a steep cut at `hz` falls by `db` dB: its slowest poles are sqrt(2) and 2.6 times slower than one alone. */
export const steepCutTail = (hz: number, order: SteepOrder, db: number, sampleRate: number): number =>
  (order === 4 ? 4 : 2) * onePoleTail(hz, db, sampleRate);
