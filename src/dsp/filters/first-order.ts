import { Ramp } from '../core/ramp.ts';

/** State below this is set to 0, so that silence does not leave denormals. */
const VANISHED = 1e-30;

/** [b0, b1, a1] for y = b0 x + b1 x' - a1 y'. */
export type FirstOrder = readonly [number, number, number];

/** The filter that changes nothing. */
export const WIRE: FirstOrder = [1, 0, 0];

/** Tangent that stands for `hz` in the designs below (bilinear transform); held at 0.49 of the rate. */
export const cornerOf = (hz: number, sampleRate: number): number => Math.tan(Math.PI * Math.min(hz / sampleRate, 0.49));

/** Shelf with gain g at 0 Hz, g r^2 at half the rate and g r at its corner. With 1 / g and 1 / r it undoes itself. */
export const firstOrderShelf = (g: number, r: number, corner: number): FirstOrder => {
  const scale = 1 / (corner + 1 / r);
  return [g * (corner + r) * scale, g * (corner - r) * scale, (corner - 1 / r) * scale];
};

/** Low-pass with gain g at 0 Hz, 3 dB less at its corner, 0 at half the rate. */
export const firstOrderLowPass = (g: number, corner: number): FirstOrder => {
  const b = (g * corner) / (1 + corner);
  return [b, b, (corner - 1) / (corner + 1)];
};

/** Shares of the rate at which the matched low-pass meets its prototype, beside 0 Hz. */
const MEETS = [0.2, 0.4] as const;

/**
 * Low-pass with the magnitude of its analogue prototype, 3 dB down at `hz`: within 0.2 dB up to 18 kHz, from 44.1 to 192 kHz
 * and for corners of 12 kHz and more, above half the rate too. (A bilinear transform would be 2 to 5 dB off there.) Its
 * squared gain (1 + B s) / (1 + A s), s = sin^2 of half the angle, goes through the prototype's at 0 Hz and at two points more.
 */
export const firstOrderMatchedLowPass = (hz: number, sampleRate: number): FirstOrder => {
  const [near, far] = MEETS.map((share) => ({
    place: Math.sin(Math.PI * share) ** 2,
    power: 1 / (1 + ((share * sampleRate) / hz) ** 2),
  })) as [{ place: number; power: number }, { place: number; power: number }];
  // B place - A power place = power - 1 at both points.
  const atNear = (near.power - 1) / near.place;
  const atFar = (far.power - 1) / far.place;
  const a = (atNear - atFar) / (far.power - near.power);
  const b = atNear + a * near.power;
  const rootOf = (slope: number): number => (1 - Math.sqrt(1 + slope)) / (1 + Math.sqrt(1 + slope));
  const pole = rootOf(a);
  const zero = rootOf(b);
  const gain = (1 + pole) / (1 + zero);
  return [gain, gain * zero, pole];
};

/** Power gain of a first-order filter at `hz`. */
export const firstOrderPower = ([b0, b1, a1]: FirstOrder, hz: number, sampleRate: number): number => {
  const cos = 2 * Math.cos((2 * Math.PI * hz) / sampleRate);
  return (b0 * b0 + b1 * b1 + b0 * b1 * cos) / (1 + a1 * a1 + a1 * cos);
};

/** A first-order filter for one channel whose coefficients move in straight lines: between stable ones it stays stable. */
export class FirstOrderFilter {
  readonly b0: Ramp;
  readonly b1: Ramp;
  readonly a1: Ramp;
  /** What the next sample is added to; a loop over several filters at once reads and writes it. */
  memory = 0;

  constructor([b0, b1, a1]: FirstOrder, sampleRate: number) {
    this.b0 = new Ramp(b0, sampleRate);
    this.b1 = new Ramp(b1, sampleRate);
    this.a1 = new Ramp(a1, sampleRate);
  }

  set([b0, b1, a1]: FirstOrder): void {
    this.b0.set(b0);
    this.b1.set(b1);
    this.a1.set(a1);
  }

  /** True when nothing moves. */
  get steady(): boolean {
    return this.b0.settled && this.b1.settled && this.a1.settled;
  }

  /** True when it changes nothing. */
  get wire(): boolean {
    return this.steady && this.b0.value === 1 && this.b1.value === 0 && this.a1.value === 0 && this.memory === 0;
  }

  control(): void {
    if (!this.steady) {
      this.b0.control();
      this.b1.control();
      this.a1.control();
    }
    if (Math.abs(this.memory) < VANISHED) this.memory = 0;
  }

  /** Frames 0..count-1 in place; `position` frames of the control block are already done. A wire is skipped, a plain gain is only multiplied. */
  process(samples: Float64Array, count: number, position: number): void {
    const { value: b0, step: b0Step } = this.b0;
    const { value: b1, step: b1Step } = this.b1;
    const { value: a1, step: a1Step } = this.a1;
    let memory = this.memory;
    if (this.steady) {
      if (b1 === 0 && a1 === 0 && memory === 0) {
        if (b0 !== 1) for (let i = 0; i < count; i++) samples[i]! *= b0;
        return;
      }
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

  /** Forgets the sound, not the setting. */
  clear(): void {
    this.memory = 0;
  }

  reset(): void {
    this.memory = 0;
    this.b0.reset();
    this.b1.reset();
    this.a1.reset();
  }
}

/** Two filters with the same coefficients on two channels, side by side where nothing moves: each waits for its own last sample. */
export const filterBoth = (
  a: FirstOrderFilter,
  b: FirstOrderFilter,
  left: Float64Array,
  right: Float64Array,
  count: number,
  position: number,
): void => {
  if (!a.steady || !b.steady || a.wire || b.wire) {
    a.process(left, count, position);
    b.process(right, count, position);
    return;
  }
  const b0 = a.b0.value;
  const b1 = a.b1.value;
  const a1 = a.a1.value;
  let memoryA = a.memory;
  let memoryB = b.memory;
  for (let i = 0; i < count; i++) {
    const inA = left[i]!;
    const inB = right[i]!;
    const outA = b0 * inA + memoryA;
    const outB = b0 * inB + memoryB;
    memoryA = b1 * inA - a1 * outA;
    memoryB = b1 * inB - a1 * outB;
    left[i] = outA;
    right[i] = outB;
  }
  a.memory = memoryA;
  b.memory = memoryB;
};

/** Two filters in turn. */
export type InTurn = readonly [FirstOrderFilter, FirstOrderFilter];

/** True when nothing moves and neither is left out. */
export const bothRun = ([first, second]: InTurn): boolean =>
  first.steady && second.steady && !first.wire && !second.wire;

/**
 * Two filters in turn on each of two signals, frames 0..count-1 in place, where all four run: as each by itself, to the bit, but
 * side by side.
 */
export const runInTurn = (
  [firstA, secondA]: InTurn,
  [firstB, secondB]: InTurn,
  samplesA: Float64Array,
  samplesB: Float64Array,
  count: number,
): void => {
  const a0 = firstA.b0.value;
  const a1 = firstA.b1.value;
  const a2 = firstA.a1.value;
  const b0 = firstB.b0.value;
  const b1 = firstB.b1.value;
  const b2 = firstB.a1.value;
  const c0 = secondA.b0.value;
  const c1 = secondA.b1.value;
  const c2 = secondA.a1.value;
  const d0 = secondB.b0.value;
  const d1 = secondB.b1.value;
  const d2 = secondB.a1.value;
  let memoryA = firstA.memory;
  let memoryB = firstB.memory;
  let memoryC = secondA.memory;
  let memoryD = secondB.memory;
  for (let i = 0; i < count; i++) {
    const inA = samplesA[i]!;
    const inB = samplesB[i]!;
    const betweenA = a0 * inA + memoryA;
    const betweenB = b0 * inB + memoryB;
    memoryA = a1 * inA - a2 * betweenA;
    memoryB = b1 * inB - b2 * betweenB;
    const outA = c0 * betweenA + memoryC;
    const outB = d0 * betweenB + memoryD;
    memoryC = c1 * betweenA - c2 * outA;
    memoryD = d1 * betweenB - d2 * outB;
    samplesA[i] = outA;
    samplesB[i] = outB;
  }
  firstA.memory = memoryA;
  firstB.memory = memoryB;
  secondA.memory = memoryC;
  secondB.memory = memoryD;
};
