/** Frames start..end-1 in place: from left and right to mid, (L + R) / 2, and side, (L - R) / 2. */
export const toMidSide = (left: Float64Array, right: Float64Array, start: number, end: number): void => {
  for (let i = start; i < end; i++) {
    const l = left[i]!;
    const r = right[i]!;
    left[i] = (l + r) / 2;
    right[i] = (l - r) / 2;
  }
};

/** Back again: L = M + S, R = M - S. */
export const toLeftRight = (mid: Float64Array, side: Float64Array, start: number, end: number): void => {
  for (let i = start; i < end; i++) {
    const m = mid[i]!;
    const s = side[i]!;
    mid[i] = m + s;
    side[i] = m - s;
  }
};
