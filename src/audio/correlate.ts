/**
 * out[stride i] = sum over j of taps[j] * samples[start + i + j], for i < count; the number of taps is a multiple of 4.
 * Tiles of 4 outputs by 4 taps stay in registers. Every output adds up in the same order, in a tile or not, so that the
 * result does not depend on how a signal is cut into blocks.
 */
export const correlate = (
  taps: Float64Array,
  samples: Float64Array,
  start: number,
  out: Float64Array,
  stride: number,
  count: number,
): void => {
  const length = taps.length;
  let i = 0;
  for (; i + 3 < count; i += 4) {
    let a = 0;
    let b = 0;
    let c = 0;
    let d = 0;
    const at = start + i;
    let x0 = samples[at]!;
    let x1 = samples[at + 1]!;
    let x2 = samples[at + 2]!;
    for (let j = 0; j < length; j += 4) {
      const t0 = taps[j]!;
      const t1 = taps[j + 1]!;
      const t2 = taps[j + 2]!;
      const t3 = taps[j + 3]!;
      const x3 = samples[at + j + 3]!;
      const x4 = samples[at + j + 4]!;
      const x5 = samples[at + j + 5]!;
      const x6 = samples[at + j + 6]!;
      a += t0 * x0 + t1 * x1 + t2 * x2 + t3 * x3;
      b += t0 * x1 + t1 * x2 + t2 * x3 + t3 * x4;
      c += t0 * x2 + t1 * x3 + t2 * x4 + t3 * x5;
      d += t0 * x3 + t1 * x4 + t2 * x5 + t3 * x6;
      x0 = x4;
      x1 = x5;
      x2 = x6;
    }
    out[stride * i] = a;
    out[stride * (i + 1)] = b;
    out[stride * (i + 2)] = c;
    out[stride * (i + 3)] = d;
  }
  for (; i < count; i++) {
    let a = 0;
    for (let j = 0; j < length; j += 4) {
      const at = start + i + j;
      a +=
        taps[j]! * samples[at]! +
        taps[j + 1]! * samples[at + 1]! +
        taps[j + 2]! * samples[at + 2]! +
        taps[j + 3]! * samples[at + 3]!;
    }
    out[stride * i] = a;
  }
};
