import { BOUND, CURVE, HALFWAY, LEVEL, PHASES, REACH, valueAt } from './interpolation.ts';
import { Series } from './series.ts';
import { subBlockStart } from './weighted-energy.ts';

/**
 * True peak (BS.1770-5 Annex 2: interpolate, take the greatest size), read on a grid of 32 steps a sample.
 *
 * Only a few of the steps are computed. A signal limited to the band of the interpolator (0.55 cycles a sample, where
 * its stop band begins) that has its greatest size M at t0 is at least M cos(2 pi 0.55 d) at a distance d from t0
 * (Duffin and Schaeffer 1938). So the greatest value lies beside a point of the half-sample grid with at least 0.65 M,
 * then of the quarter grid with at least 0.9 M, and so on; points below their share of the greatest value known so far
 * cannot lead to a greater one. Half-way values themselves are computed only where the samples around allow them to
 * reach that share.
 *
 * Sound that is strong right up to half the sample rate (raw white noise, a sample-wise random square) has no true
 * peak that two interpolators agree on: there the reading stays below that of an ideal, endless one.
 */
export interface TruePeak {
  /** Greatest size, linear, at least that of the greatest sample. */
  readonly value: number;
  /** Where: channel, and frame (a multiple of 1/32). */
  readonly channel: number;
  readonly frame: number;
}

/** True peak over all `channels` (channels x frames; silence before and after). 0 at channel 0, frame 0 for silence. */
export function truePeakOf(channels: readonly Float32Array[]): TruePeak {
  let peak: TruePeak = { value: 0, channel: 0, frame: 0 };
  channels.forEach((samples, channel) => {
    const found = truePeakIn(samples, peak.value);
    if (found) peak = { ...found, channel };
  });
  return peak;
}

/** True peak of sound that comes piece by piece; memory does not grow with its length. */
export class TruePeakMeter {
  private readonly buffers: readonly Float32Array[];
  private filled = 0;
  /** Frame of the sound at which the buffers begin, and the first in them whose surroundings are not yet looked at. */
  private start = 0;
  private next = -1;
  private best: TruePeak = { value: 0, channel: 0, frame: 0 };
  private readonly perSubBlock = new Series();

  /** @param seriesRate sample rate where the true peak of each 10 ms is wanted too; that takes about twice the time */
  constructor(
    channels: number,
    private readonly seriesRate: number | null = null,
  ) {
    this.buffers = Array.from({ length: channels }, () => new Float32Array(GATHERED));
  }

  /** Adds `count` frames of `channels` (channels x frames) from frame `from` on. */
  push(channels: readonly Float32Array[], from: number, count: number): void {
    for (let at = from; at < from + count;) {
      const length = Math.min(GATHERED - this.filled, from + count - at);
      this.buffers.forEach((buffer, c) => buffer.set(channels[c]!.subarray(at, at + length), this.filled));
      at += length;
      this.filled += length;
      if (this.filled === GATHERED) this.advance();
    }
  }

  /** True peak of all so far, with silence behind it; more may follow. */
  peak(): TruePeak {
    const end = this.buffers.map((buffer) => buffer.subarray(0, this.filled));
    return this.higher(end, this.next, this.filled);
  }

  /** Linear true peak of each whole 10 ms of all so far, of any channel; empty if it was not asked for. */
  series(): Float64Array {
    const done = this.perSubBlock.values();
    if (this.seriesRate === null) return done;
    const rest: number[] = [];
    const end = this.buffers.map((buffer) => buffer.subarray(0, this.filled));
    while (this.subBlockEnd(done.length + rest.length) <= this.filled) {
      rest.push(this.peakOfSubBlock(end, done.length + rest.length));
    }
    const all = new Float64Array(done.length + rest.length);
    all.set(done);
    all.set(rest, done.length);
    return all;
  }

  /** Where sub-block `index` ends in the buffers. */
  private subBlockEnd(index: number): number {
    return subBlockStart(index + 1, this.seriesRate!) - this.start;
  }

  private peakOfSubBlock(buffers: readonly Float32Array[], index: number): number {
    const [from, to] = [subBlockStart(index, this.seriesRate!) - this.start, this.subBlockEnd(index)];
    return buffers.reduce((peak, samples) => truePeakIn(samples, peak, from, to)?.value ?? peak, 0);
  }

  /** Looks at all whose surroundings are there, and keeps what shapes the rest. */
  private advance(): void {
    const to = GATHERED - REACH;
    this.best = this.higher(this.buffers, this.next, to);
    if (this.seriesRate !== null) {
      for (let n = this.perSubBlock.values().length; this.subBlockEnd(n) <= to; n++) {
        this.perSubBlock.push(this.peakOfSubBlock(this.buffers, n));
      }
    }
    const kept = 2 * REACH + (this.seriesRate === null ? 0 : Math.ceil(this.seriesRate / 100) + 1);
    for (const buffer of this.buffers) buffer.copyWithin(0, GATHERED - kept);
    this.start += GATHERED - kept;
    this.next = to - (GATHERED - kept);
    this.filled = kept;
  }

  private higher(buffers: readonly Float32Array[], from: number, to: number): TruePeak {
    let { best } = this;
    buffers.forEach((samples, channel) => {
      const found = truePeakIn(samples, best.value, from, to);
      if (found) best = { value: found.value, channel, frame: this.start + found.frame };
    });
    return best;
  }
}

/** Frames that a meter gathers before it looks at them. */
const GATHERED = 2 ** 16;

/** Samples looked at together. A multiple of 4. */
const BLOCK = 256;

/** Where the block begins in its buffer: room for the taps, and for four half-way values more than asked for. */
const LEAD = REACH + 4;

/** Taps on either side that decide whether a half-way value can matter; those farther away can add REMAINDER. */
const NEAR = 8;
const REMAINDER = 2 * HALFWAY.subarray(NEAR).reduce((sum, weight) => sum + Math.abs(weight), 0);

/** What a grid of `step` / PHASES samples keeps of the greatest value at least: the cosine of half a step, less 1 %. */
const SHARES = Float64Array.from(
  { length: PHASES },
  (_, step) => Math.cos(((2 * Math.PI * 0.55) / PHASES) * (step / 2)) - 0.01,
);
const SHARE = SHARES[PHASES / 2]!;
const HALF_SAMPLE = Math.cos(2 * Math.PI * 0.55 * 0.5) - 0.01;

/**
 * The greatest size in `samples` from frame `from` (-1: from the silence before on) to `to`, at and between samples, if
 * it is greater than `floor`; else null. Samples outside the range still shape what lies between those inside.
 */
export function truePeakIn(
  samples: Float32Array,
  floor: number,
  from = -1,
  to = samples.length,
): { readonly value: number; readonly frame: number } | null {
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

/** Greatest sample size in each block of the range, and in one before it and one behind. */
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
