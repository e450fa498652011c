import { BOUND, CURVE, HALFWAY, LEVEL, PHASES, REACH, STOP, valueAt } from './interpolation.ts';

/**
 * How a true peak is found: only a few of the 32 steps between samples are computed.
 *
 * A signal limited to the band of the interpolator (STOP cycles a sample, where
 * its stop band begins) that has its greatest size M at t0 is at least M cos(2 pi STOP d) at a distance d from t0
 * (Duffin and Schaeffer 1938). So the greatest value lies beside a point of the half-sample grid with at least 0.66 M,
 * then of the quarter grid with at least 0.9 M, and so on; points below their share of the greatest value known so far
 * cannot lead to a greater one. Half-way values themselves are computed only where the samples around allow them to
 * reach that share.
 *
 * The same search with SIMD is in kernels/kernels.as; this one runs where there is none.
 */

/** A value above the floor, and the frame (a multiple of 1/32) where it is. */
export interface FoundPeak {
  readonly value: number;
  readonly frame: number;
}

/** Samples per block, a multiple of 4. */
export const BLOCK = 256;

/** Start of the block in its buffer: after the samples for the taps, and for four extra half-way values. */
const LEAD = REACH + 4;

/** Taps on either side that decide whether a half-way value can matter; those farther away can add REMAINDER. */
const NEAR = 8;
const REMAINDER = 2 * HALFWAY.subarray(NEAR).reduce((sum, weight) => sum + Math.abs(weight), 0);

/** Least part of the greatest value that a point of a grid of `step` / PHASES samples has: the cosine of half a step, less 1 %. */
export const SHARES = Float64Array.from(
  { length: PHASES },
  (_, step) => Math.cos(((2 * Math.PI * STOP) / PHASES) * (step / 2)) - 0.01,
);
const SHARE = SHARES[PHASES / 2]!;
export const HALF_SAMPLE = Math.cos(2 * Math.PI * STOP * 0.5) - 0.01;

/**
 * The greatest size in `samples` from frame `from` (-1: from the silence before on) to `to`, at and between samples, if
 * it is greater than `floor`; else null. Samples outside the range still influence values between those inside.
 */
export function plainTruePeakIn(samples: Float32Array, floor: number, from: number, to: number): FoundPeak | null {
  const peaks = blockPeaks(samples, from, to);
  const buffer = new Float64Array(BLOCK + 2 * LEAD);
  const halfway = new Float64Array(BLOCK + 4);
  const best: Hill = { value: floor, position: -1 };
  let frame = 0;
  const blocks = peaks.length - 2;
  // The block with the greatest sample goes first (and comes again in turn): after it, most others can be skipped.
  for (let turn = -1; turn < blocks; turn++) {
    const block = turn < 0 ? loudestOf(peaks) : turn;
    const peak = Math.max(peaks[block]!, peaks[block + 1]!, peaks[block + 2]!);
    if (peak * BOUND <= best.value) continue;
    const before = best.value;
    const start = from + block * BLOCK;
    load(samples, start - LEAD, buffer);
    const curve = CURVE * greatestBend(buffer);
    if (peak * LEVEL + curve <= before) continue;
    fillHalfway(buffer, peak, curve, before, halfway);
    climbAll(buffer, halfway, Math.min(BLOCK, to - start), best);
    if (best.value > before) frame = start - LEAD + best.position / PHASES;
  }
  return best.value > floor ? { value: best.value, frame } : null;
}

/** Greatest sample size in each block of the range, and in one before it and one after. */
function blockPeaks(samples: Float32Array, from: number, to: number): Float64Array {
  const peaks = new Float64Array(Math.ceil((to - from) / BLOCK) + 2);
  for (let block = 0; block < peaks.length; block++) {
    const start = from + (block - 1) * BLOCK;
    const end = Math.min(samples.length, start + BLOCK);
    let peak = 0;
    for (let n = Math.max(0, start); n < end; n++) {
      const x = samples[n]!;
      const size = x < 0 ? -x : x;
      if (size > peak) peak = size;
    }
    peaks[block] = peak;
  }
  return peaks;
}

/** Greatest size of a second difference in `buffer`. */
function greatestBend(buffer: Float64Array): number {
  let greatest = 0;
  let before = buffer[0]!;
  let here = buffer[1]!;
  for (let n = 2; n < buffer.length; n++) {
    const after = buffer[n]!;
    const bend = before - 2 * here + after;
    const size = bend < 0 ? -bend : bend;
    if (size > greatest) greatest = size;
    before = here;
    here = after;
  }
  return greatest;
}

/** Which block of the range has the greatest peak in `peaks` (as blockPeaks lists them). */
function loudestOf(peaks: Float64Array): number {
  let loudest = 0;
  for (let block = 1; block < peaks.length - 2; block++) if (peaks[block + 1]! > peaks[loudest + 1]!) loudest = block;
  return loudest;
}

/** A place in the buffer, in steps, and its size. */
interface Hill {
  value: number;
  position: number;
}

/** Fills `buffer` with the samples from `start` on, silence where there are none. */
function load(samples: Float32Array, start: number, buffer: Float64Array): void {
  const end = Math.min(buffer.length, samples.length - start);
  const first = Math.max(0, -start);
  buffer.fill(0, 0, first);
  for (let n = first; n < end; n++) buffer[n] = samples[start + n]!;
  buffer.fill(0, Math.max(0, end));
}

/**
 * The value half-way after the sample before the block and after each sample of it, four at a time; 0 for four that
 * cannot reach their share of `best`, given the greatest sample size around and what curves add to a straight line.
 */
function fillHalfway(buffer: Float64Array, peak: number, curve: number, best: number, halfway: Float64Array): void {
  const share = SHARE * best;
  const straight = share - curve;
  const limit = share - REMAINDER * peak;
  halfway.fill(0);
  for (let n = 0; n <= BLOCK; n += 4) {
    const at = LEAD - 1 + n;
    if (straight > 0 && noneReaches(straight, buffer, at) && Math.abs(buffer[at + 4]!) < straight) continue;
    addTaps(buffer, at, 0, NEAR, halfway, n);
    if (noneReaches(limit, halfway, n)) halfway.fill(0, n, n + 4);
    else addTaps(buffer, at, NEAR, REACH, halfway, n);
  }
}

/** Whether four values from `n` on are all smaller than `limit` in size. */
function noneReaches(limit: number, values: Float64Array, n: number): boolean {
  return (
    Math.max(Math.abs(values[n]!), Math.abs(values[n + 1]!), Math.abs(values[n + 2]!), Math.abs(values[n + 3]!)) < limit
  );
}

/** Adds taps `from` to `to` (to either side) of the values half-way after samples `at` to `at + 3` to `sums[n ..]`. */
function addTaps(buffer: Float64Array, at: number, from: number, to: number, sums: Float64Array, n: number): void {
  let y0 = sums[n]!;
  let y1 = sums[n + 1]!;
  let y2 = sums[n + 2]!;
  let y3 = sums[n + 3]!;
  let l0 = buffer[at - from]!;
  let l1 = buffer[at - from + 1]!;
  let l2 = buffer[at - from + 2]!;
  let l3 = buffer[at - from + 3]!;
  let r0 = buffer[at + from + 1]!;
  let r1 = buffer[at + from + 2]!;
  let r2 = buffer[at + from + 3]!;
  let r3 = buffer[at + from + 4]!;
  for (let tap = from; tap < to; tap++) {
    const weight = HALFWAY[tap]!;
    y0 += weight * (l0 + r0);
    y1 += weight * (l1 + r1);
    y2 += weight * (l2 + r2);
    y3 += weight * (l3 + r3);
    l3 = l2;
    l2 = l1;
    l1 = l0;
    l0 = buffer[at - tap - 1]!;
    r0 = r1;
    r1 = r2;
    r2 = r3;
    r3 = buffer[at + tap + 5]!;
  }
  sums[n] = y0;
  sums[n + 1] = y1;
  sums[n + 2] = y2;
  sums[n + 3] = y3;
}

/** Climbs from every hill of the half-sample grid of the block that can lead above `best`, and raises `best`. */
function climbAll(buffer: Float64Array, halfway: Float64Array, count: number, best: Hill): void {
  let before = halfway[0]!;
  for (let n = 0; n < count; n++) {
    const here = buffer[LEAD + n]!;
    const after = halfway[n + 1]!;
    const next = buffer[LEAD + n + 1]!;
    if (canLead(before, here, after, best.value)) climb(buffer, (LEAD + n) * PHASES, best);
    if (canLead(here, after, next, best.value)) climb(buffer, (LEAD + n) * PHASES + PHASES / 2, best);
    before = after;
  }
}

/**
 * Whether `here`, between its neighbours on the half-sample grid, is a hill (neither neighbour goes farther to its side
 * of zero) that a value greater than `best` can lie beside. Such a value, between two points of the grid, is at most
 * half a sample from both together: the arc cosines of the two, in parts of it, add up to no more than that angle.
 */
function canLead(before: number, here: number, after: number, best: number): boolean {
  const side = here < 0 ? -1 : 1;
  const top = side * here;
  if (top < SHARE * best) return false;
  const other = Math.max(side * before, side * after);
  if (other > top) return false;
  if (top >= best) return true;
  const cosines = top * other - HALF_SAMPLE * best * best;
  return cosines > 0 && cosines * cosines >= (best * best - top * top) * (best * best - other * other);
}

/** From `position` uphill by halved steps, for as long as the finer grid still allows a value above `best`. */
function climb(buffer: Float64Array, position: number, best: Hill): void {
  const middle = valueAt(buffer, position);
  const side = middle < 0 ? -1 : 1;
  let top = side * middle;
  for (let step = PHASES / 4; step >= 1; step /= 2) {
    const left = side * valueAt(buffer, position - step);
    const right = side * valueAt(buffer, position + step);
    if (left > top && left >= right) position -= step;
    else if (right > top) position += step;
    top = Math.max(top, left, right);
    if (top < SHARES[step]! * best.value) return;
  }
  if (top > best.value) {
    best.value = top;
    best.position = position;
  }
}
