import { FadingTap } from './fading-tap.ts';
import { Ramp } from './ramp.ts';
import { Ring } from './ring.ts';

/** Memory below this is set to 0, as in the other filters. */
const VANISHED = 1e-30;

/** Most that highs lose in one pass beyond what lows lose: 30 dB. More would only stretch the filter's own memory. */
const LEAST_HIGHS = 10 ** (-30 / 20);

/** What a delay line of a reverb loses each time a sound passes. */
export interface Absorption {
  /** Time in which low frequencies fall by 60 dB, seconds. */
  readonly decay: number;
  /** The same time for the highest frequencies, as a part of `decay`, above 0 and up to 1. */
  readonly highs: number;
  /** Where the loss in dB is half-way between the two, Hz. */
  readonly turnHz: number;
}

/** Linear gain of a pass through `length` samples for a decay of 60 dB in `decay` seconds (Jot and Chaigne 1991). */
export const passGain = (length: number, decay: number, sampleRate: number): number =>
  10 ** ((-3 * length) / (decay * sampleRate));

/**
 * First-order shelf [b0, b1, a1] for y = b0 x + b1 x' - a1 y': gain g at 0 Hz and g k at Nyquist, so that highs decay in
 * `highs` of the time; its middle, g sqrt(k), lies at the turn. Shelves of this form stay in proportion in dB, so lines of
 * different lengths lose alike at all frequencies. With k = 1 it is the plain gain g.
 */
export const absorptionFilter = (
  length: number,
  { decay, highs, turnHz }: Absorption,
  sampleRate: number,
): readonly [number, number, number] => {
  const g = passGain(length, decay, sampleRate);
  const root = Math.sqrt(Math.max(LEAST_HIGHS, g ** (1 / highs - 1)));
  const t = Math.tan(Math.PI * Math.min(turnHz / sampleRate, 0.49));
  const scale = 1 / (t + 1 / root);
  return [g * (t + root) * scale, g * (t - root) * scale, (t - 1 / root) * scale];
};

/** Power gain of `absorptionFilter` at `hz`. */
export const absorptionPower = (
  [b0, b1, a1]: readonly [number, number, number],
  hz: number,
  sampleRate: number,
): number => {
  const cos = 2 * Math.cos((2 * Math.PI * hz) / sampleRate);
  return (b0 * b0 + b1 * b1 + b0 * b1 * cos) / (1 + a1 * a1 + a1 * cos);
};

/** A delay line with its absorption, whose length and loss move without clicks. */
export class AbsorbingLine {
  private readonly ring: Ring;
  private readonly tap: FadingTap;
  private readonly b0: Ramp;
  private readonly b1: Ramp;
  private readonly a1: Ramp;
  private memory = 0;

  /** @param capacity longest delay and block together, samples */
  constructor(
    capacity: number,
    length: number,
    absorption: Absorption,
    private readonly sampleRate: number,
  ) {
    this.ring = new Ring(capacity);
    this.tap = new FadingTap(length, sampleRate);
    const [b0, b1, a1] = absorptionFilter(length, absorption, sampleRate);
    this.b0 = new Ramp(b0, sampleRate);
    this.b1 = new Ramp(b1, sampleRate);
    this.a1 = new Ramp(a1, sampleRate);
  }

  set(length: number, absorption: Absorption): void {
    const [b0, b1, a1] = absorptionFilter(length, absorption, this.sampleRate);
    this.tap.set(length);
    this.b0.set(b0);
    this.b1.set(b1);
    this.a1.set(a1);
  }

  control(): void {
    this.tap.control();
    if (!this.steady) {
      this.b0.control();
      this.b1.control();
      this.a1.control();
    }
    if (Math.abs(this.memory) < VANISHED) this.memory = 0;
  }

  /** What comes out of the line, frames 0..count-1; `position` frames of the control block are already done. */
  read(target: Float64Array, count: number, position: number): void {
    this.tap.read(this.ring, target, count, position);
    this.absorb(target, count, position);
  }

  /** As `read`, with the length moved by `offset` samples at the start of the control block and `step` more each frame. */
  readMoving(target: Float64Array, count: number, position: number, offset: number, step: number): void {
    this.tap.readMoving(this.ring, target, count, position, offset, step);
    this.absorb(target, count, position);
  }

  /** What goes into the line: source[0..count-1] plus `gain` times added[0..count-1]. */
  write(source: Float64Array, gain: number, added: Float64Array, count: number): void {
    this.ring.writeSum(source, gain, added, count);
  }

  get peak(): number {
    return this.ring.peak;
  }

  clear(): void {
    this.ring.clear();
    this.memory = 0;
  }

  reset(): void {
    this.clear();
    this.tap.reset();
    this.b0.reset();
    this.b1.reset();
    this.a1.reset();
  }

  /** True when the loss does not move. */
  private get steady(): boolean {
    return this.b0.settled && this.b1.settled && this.a1.settled;
  }

  private absorb(samples: Float64Array, count: number, position: number): void {
    const { value: b0, step: b0Step } = this.b0;
    const { value: b1, step: b1Step } = this.b1;
    const { value: a1, step: a1Step } = this.a1;
    let memory = this.memory;
    if (this.steady) {
      for (let i = 0; i < count; i++) {
        const x = samples[i]!;
        const y = b0 * x + memory;
        memory = b1 * x - a1 * y;
        samples[i] = y;
      }
      this.memory = memory;
      return;
    }
    for (let i = 0; i < count; i++) {
      const k = position + i;
      const x = samples[i]!;
      const y = (b0 + b0Step * k) * x + memory;
      memory = (b1 + b1Step * k) * x - (a1 + a1Step * k) * y;
      samples[i] = y;
    }
    this.memory = memory;
  }
}
