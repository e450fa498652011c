import { kWeightingAt } from '../../measure/loudness/k-weighting.ts';
import { Kernels } from '../../measure/kernels/kernels.ts';

/** Filter state below this (-600 dB) is put to zero after each run, so that silence does not compute on denormals. */
const NOTHING = 1e-30;

/** Numbers of state of one filter; mid and side have one each. */
export const STATE = 4;

/** Vectors computed from one sound: K-weighted mid and side, and left and right unweighted. */
export const PARTS = 4;

/** Numbers that precede the state in memory, one of padding included. */
const COEFFICIENTS = 10;

/** Kernel memory of one weighting, bytes. */
export const WEIGHTING_ROOM = 192;

/**
 * K-weighting of a stereo sound that gives mid (L + R) / 2 and side (L - R) / 2, in double precision. Calls continue
 * each other. With SIMD where there are `kernels`: then all arrays given must stand in their memory.
 */
export class MidSideWeighting {
  /** State in pairs, mid and side. */
  readonly state: Float64Array;
  /** COEFFICIENTS, then the state. */
  private readonly filter: Float64Array;

  /** @throws RangeError below LOWEST_RATE of k-weighting.ts */
  constructor(
    sampleRate: number,
    private readonly kernels: Kernels | null,
  ) {
    const { shelf, lowCut } = kWeightingAt(sampleRate);
    this.filter = Kernels.doubles(kernels, COEFFICIENTS + 2 * STATE);
    const { b0, b1, b2, a1, a2 } = shelf;
    const { a1: c1, a2: c2 } = lowCut;
    // Input and state enter by separate products, so that a frame need not wait for the output of the one
    // before. The numerator of the low cut is 1, -2, 1.
    this.filter.set([b0, b1 - a1 * b0, b2 - a2 * b0, a1, a2, 2 + c1, 1 - c2, c1, c2]);
    this.state = this.filter.subarray(COEFFICIENTS);
  }

  /**
   * Weights frames `from .. from + count` of `left` and `right` into four vectors, `apart` one from the next, from element
   * `at` of `into` on: weighted mid, weighted side, left and right.
   */
  weigh(
    left: Float32Array,
    right: Float32Array,
    from: number,
    count: number,
    into: Float64Array,
    at: number,
    apart: number,
  ): void {
    const { kernels, filter } = this;
    if (kernels) {
      const [first, second] = [left.byteOffset + 4 * from, right.byteOffset + 4 * from];
      kernels.run.weigh(first, second, count, filter.byteOffset, into.byteOffset + 8 * at, 8 * apart);
      return;
    }
    for (let n = 0; n < count; n++) {
      const l = left[from + n]!;
      const r = right[from + n]!;
      into[at + n] = 0.5 * (l + r);
      into[at + apart + n] = 0.5 * (l - r);
      into[at + 2 * apart + n] = l;
      into[at + 3 * apart + n] = r;
    }
    this.run(into, at, at + apart, count, 1);
    for (let n = 0; n < this.state.length; n++) if (Math.abs(this.state[n]!) < NOTHING) this.state[n] = 0;
  }

  /** Weights `count` numbers of mid from `at` on and of side, `apart`, in place and from rest, backwards in time. */
  weighBackwards(values: Float64Array, at: number, apart: number, count: number): void {
    const { kernels, filter, state } = this;
    if (kernels) {
      kernels.run.weighBackwards(values.byteOffset + 8 * at, 8 * apart, count, filter.byteOffset);
      return;
    }
    state.fill(0);
    this.run(values, at + count - 1, at + apart + count - 1, count, -1);
  }

  private run(values: Float64Array, mid: number, side: number, count: number, step: number): void {
    const { filter, state } = this;
    const [b0, b1, b2, a1, a2] = [filter[0]!, filter[1]!, filter[2]!, filter[3]!, filter[4]!];
    const [d1, d2, c1, c2] = [filter[5]!, filter[6]!, filter[7]!, filter[8]!];
    let [s0, u0, s1, u1] = [state[0]!, state[1]!, state[2]!, state[3]!];
    let [t0, v0, t1, v1] = [state[4]!, state[5]!, state[6]!, state[7]!];
    for (let n = 0; n < count; n++, mid += step, side += step) {
      const m = values[mid]!;
      const s = values[side]!;
      const y = b0 * m + s0;
      const z = b0 * s + u0;
      const nextS = b1 * m + s1 - a1 * s0;
      const nextU = b1 * s + u1 - a1 * u0;
      s1 = b2 * m - a2 * s0;
      u1 = b2 * s - a2 * u0;
      [s0, u0] = [nextS, nextU];
      const p = y + t0;
      const q = z + v0;
      const nextT = t1 - d1 * y - c1 * t0;
      const nextV = v1 - d1 * z - c1 * v0;
      t1 = d2 * y - c2 * t0;
      v1 = d2 * z - c2 * v0;
      [t0, v0] = [nextT, nextV];
      values[mid] = p;
      values[side] = q;
    }
    state.set([s0, u0, s1, u1, t0, v0, t1, v1]);
  }
}
