import { kWeightingAt, type Section } from '../measure/k-weighting.ts';

/** Filter state below this (-600 dB) is put to zero after each run, so that silence does not compute on denormals. */
const NOTHING = 1e-30;

/** Numbers of state of one filter; mid and side have one each. */
export const STATE = 4;

/**
 * K-weighting of a stereo sound that gives mid (L + R) / 2 and side (L - R) / 2, in double precision. Calls continue
 * each other.
 */
export class MidSideWeighting {
  /** State of mid, then of side. */
  readonly state = new Float64Array(2 * STATE);
  private readonly sections: readonly [Section, Section];

  /** @throws RangeError below LOWEST_RATE of k-weighting.ts */
  constructor(sampleRate: number) {
    const { shelf, lowCut } = kWeightingAt(sampleRate);
    this.sections = [shelf, lowCut];
  }

  /** Weights frames `from .. from + count` of `left` and `right` into `mid[0 .. count)` and `side[0 .. count)`. */
  process(
    left: Float32Array,
    right: Float32Array,
    from: number,
    count: number,
    mid: Float64Array,
    side: Float64Array,
  ): void {
    for (let n = 0; n < count; n++) {
      const l = left[from + n]!;
      const r = right[from + n]!;
      mid[n] = 0.5 * (l + r);
      side[n] = 0.5 * (l - r);
    }
    this.filter(mid, side, count);
  }

  /** Weights `mid` and `side` in place. */
  filter(mid: Float64Array, side: Float64Array, count: number): void {
    const [{ b0, b1, b2, a1, a2 }, { a1: c1, a2: c2 }] = this.sections;
    const { state } = this;
    let [s0, s1, t0, t1] = [state[0]!, state[1]!, state[2]!, state[3]!];
    let [u0, u1, v0, v1] = [state[4]!, state[5]!, state[6]!, state[7]!];
    for (let n = 0; n < count; n++) {
      const m = mid[n]!;
      const s = side[n]!;
      const y = b0 * m + s0;
      const z = b0 * s + u0;
      s0 = b1 * m - a1 * y + s1;
      u0 = b1 * s - a1 * z + u1;
      s1 = b2 * m - a2 * y;
      u1 = b2 * s - a2 * z;
      const p = y + t0;
      const q = z + v0;
      t0 = t1 - 2 * y - c1 * p;
      v0 = v1 - 2 * z - c1 * q;
      t1 = y - c2 * p;
      v1 = z - c2 * q;
      mid[n] = p;
      side[n] = q;
    }
    [s0, s1, t0, t1, u0, u1, v0, v1].forEach((x, n) => (state[n] = Math.abs(x) < NOTHING ? 0 : x));
  }
}
