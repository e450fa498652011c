import { stereoKernel, type StereoKernel } from '../kernels/stereo-kernel.ts';

/**
 * K-weighting of ITU-R BS.1770-5, Annex 1: a high shelf for the head, then a low cut.
 *
 * The recommendation tabulates both stages at 48 kHz only. At other rates the coefficients come from the analogue
 * prototype that regenerates the table (constants as in libebur128). The numerator of the low cut stays [1, -2, 1] at
 * every rate, undivided, as libebur128 keeps it: so a reading here equals that library's at every rate. Matching the
 * 48 kHz response instead would move readings by 0.004 LU at 44.1 kHz, 0.02 LU at 96 kHz and 0.2 LU at 8 kHz.
 */

/** Second-order section, a0 = 1. */
export interface Section {
  readonly b0: number;
  readonly b1: number;
  readonly b2: number;
  readonly a1: number;
  readonly a2: number;
}

/** Lowest sample rate with K-weighting, Hz: below it the shelf would lie at half the rate or beyond. */
export const LOWEST_RATE = 4000;

const SHELF = { hz: 1681.974450955533, q: 0.7071752369554196, db: 3.999843853973347, slope: 0.4996667741545416 };
const LOW_CUT = { hz: 38.13547087602444, q: 0.5003270373238773 };

/**
 * The two stages at `sampleRate`. @throws RangeError below LOWEST_RATE.
 */
export function kWeightingAt(sampleRate: number): { readonly shelf: Section; readonly lowCut: Section } {
  if (!(sampleRate >= LOWEST_RATE))
    throw new RangeError(`K-weighting needs at least ${LOWEST_RATE} Hz, not ${sampleRate}`);
  const high = 10 ** (SHELF.db / 20);
  const band = high ** SHELF.slope;
  const poles = (hz: number, q: number) => {
    const k = Math.tan((Math.PI * hz) / sampleRate);
    const a0 = 1 + k / q + k * k;
    return { k, a0, a1: (2 * (k * k - 1)) / a0, a2: (1 - k / q + k * k) / a0 };
  };
  const { k, a0, a1, a2 } = poles(SHELF.hz, SHELF.q);
  const shelf = {
    b0: (high + (band * k) / SHELF.q + k * k) / a0,
    b1: (2 * (k * k - high)) / a0,
    b2: (high - (band * k) / SHELF.q + k * k) / a0,
    a1,
    a2,
  };
  const low = poles(LOW_CUT.hz, LOW_CUT.q);
  return { shelf, lowCut: { b0: 1, b1: -2, b2: 1, a1: low.a1, a2: low.a2 } };
}

/** Filter state below this (-600 dB) is set to zero after each run, so that silence does not leave denormals. */
const NOTHING = 1e-30;

/** K-weighting filter of one channel. Calls continue each other; state and arithmetic are double precision. */
export class KWeighting {
  private readonly sections: readonly [Section, Section];
  private readonly state = new Float64Array(4);

  /** @throws RangeError below LOWEST_RATE. */
  constructor(sampleRate: number) {
    const { shelf, lowCut } = kWeightingAt(sampleRate);
    this.sections = [shelf, lowCut];
  }

  /** Weights `input[from .. from + count)` into `output[0 .. count)`. */
  process(input: Float32Array, from: number, count: number, output: Float64Array): void {
    const [{ b0, b1, b2, a1, a2 }, { a1: c1, a2: c2 }] = this.sections;
    const state = this.state;
    let s0 = state[0]!;
    let s1 = state[1]!;
    let t0 = state[2]!;
    let t1 = state[3]!;
    for (let n = 0; n < count; n++) {
      const x = input[from + n]!;
      const y = b0 * x + s0;
      s0 = b1 * x + s1 - a1 * y;
      s1 = b2 * x - a2 * y;
      const z = y + t0;
      t0 = t1 - 2 * y - c1 * z;
      t1 = y - c2 * z;
      output[n] = z;
    }
    state[0] = settled(s0);
    state[1] = settled(s1);
    state[2] = settled(t0);
    state[3] = settled(t1);
  }
}

/** Sums of products of K-weighted left and right samples. */
export interface StereoEnergy {
  left: number;
  right: number;
  /** Left times right. */
  cross: number;
}

/**
 * K-weighting of two channels that keeps only the energies: the same arithmetic as two filters of one channel, but the
 * processor works on both at once and nothing is stored between. With SIMD where there is a `kernel`.
 */
export class StereoKWeighting {
  private readonly coefficients: readonly number[];
  private readonly state = new Float64Array(8);

  /** @throws RangeError below LOWEST_RATE. */
  constructor(
    sampleRate: number,
    private readonly kernel: StereoKernel | null = stereoKernel(),
  ) {
    const { shelf, lowCut } = kWeightingAt(sampleRate);
    this.coefficients = [shelf.b0, shelf.b1, shelf.b2, shelf.a1, shelf.a2, lowCut.a1, lowCut.a2];
  }

  /** Adds the energies of `count` frames of `left` and `right` from frame `from` on to `sums`. */
  add(left: Float32Array, right: Float32Array, from: number, count: number, sums: StereoEnergy): void {
    if (this.kernel) this.addFast(this.kernel, left, right, from, count, sums);
    else this.addPlain(left, right, from, count, sums);
  }

  private addFast(
    kernel: StereoKernel,
    left: Float32Array,
    right: Float32Array,
    from: number,
    count: number,
    sums: StereoEnergy,
  ): void {
    const { weighted } = kernel;
    for (let n = 0; n < 7; n++) weighted[n] = this.coefficients[n]!;
    for (let n = 0; n < 8; n++) weighted[8 + n] = this.state[n]!;
    weighted[16] = sums.left;
    weighted[17] = sums.right;
    weighted[18] = weighted[19] = sums.cross;
    kernel.addWeighted(left, right, from, count);
    for (let n = 0; n < 8; n++) this.state[n] = weighted[8 + n]!;
    sums.left = weighted[16];
    sums.right = weighted[17];
    sums.cross = weighted[18];
  }

  private addPlain(left: Float32Array, right: Float32Array, from: number, count: number, sums: StereoEnergy): void {
    const [b0 = 0, b1 = 0, b2 = 0, a1 = 0, a2 = 0, c1 = 0, c2 = 0] = this.coefficients;
    const state = this.state;
    // In pairs, left and right: so the kernel has them.
    let [s0, u0, s1, u1] = [state[0]!, state[1]!, state[2]!, state[3]!];
    let [t0, v0, t1, v1] = [state[4]!, state[5]!, state[6]!, state[7]!];
    // Accumulated in order, so that the sums are the same to the last bit for pieces of any length.
    let { left: leftSum, right: rightSum, cross: crossSum } = sums;
    for (let n = from; n < from + count; n++) {
      const l = left[n]!;
      const r = right[n]!;
      const y = b0 * l + s0;
      const z = b0 * r + u0;
      s0 = b1 * l + s1 - a1 * y;
      u0 = b1 * r + u1 - a1 * z;
      s1 = b2 * l - a2 * y;
      u1 = b2 * r - a2 * z;
      const p = y + t0;
      const q = z + v0;
      t0 = t1 - 2 * y - c1 * p;
      v0 = v1 - 2 * z - c1 * q;
      t1 = y - c2 * p;
      v1 = z - c2 * q;
      leftSum += p * p;
      rightSum += q * q;
      crossSum += p * q;
    }
    sums.left = leftSum;
    sums.right = rightSum;
    sums.cross = crossSum;
    [s0, u0, s1, u1, t0, v0, t1, v1].forEach((value, n) => (state[n] = settled(value)));
  }
}

const settled = (x: number): number => (Math.abs(x) < NOTHING ? 0 : x);
