// The inner loops of the meters with SIMD, in AssemblyScript. `node tests/helpers/build-kernels.mjs` compiles this
// into kernels-binary.ts. Nothing is allocated: all memory is imported, and who calls says where things stand in it (byte
// addresses). Each loop has a twin in TypeScript, named beside it, which runs where there is no SIMD and which the tests
// hold these to.

@inline function swapped(pair: v128): v128 { return v128.shuffle<f64>(pair, pair, 1, 0); }
@inline function firstTwice(pair: v128): v128 { return v128.shuffle<f64>(pair, pair, 0, 0); }
@inline function secondTwice(pair: v128): v128 { return v128.shuffle<f64>(pair, pair, 1, 1); }

/** One frame of two channels in double precision. */
@inline function frameAt(left: usize, right: usize): v128 {
  return f64x2.promote_low_f32x4(v128.shuffle<f32>(v128.load32_zero(left), v128.load32_zero(right), 0, 4, 1, 5));
}

/** Sums of two channels. */
// Twin: addStereo of sample-meter.ts. At `sums`, pairs: squares of left and right; of their sum and difference; products
// (twice the same); samples; greatest sizes, which begin anew with each call.
export function addSums(left: usize, right: usize, count: i32, sums: usize): void {
  const flip = f64x2(0.0, -0.0);
  let squares = v128.load(sums);
  let midSide = v128.load(sums, 16);
  let products = v128.load(sums, 32);
  let totals = v128.load(sums, 48);
  let peaks = f64x2.splat(0);
  const bytes = <usize>count << 2;
  for (let n: usize = 0; n < bytes; n += 4) {
    const x = frameAt(left + n, right + n);
    const l = firstTwice(x);
    const r = secondTwice(x);
    const ms = f64x2.add(l, v128.xor(r, flip));
    squares = f64x2.add(squares, f64x2.mul(x, x));
    midSide = f64x2.add(midSide, f64x2.mul(ms, ms));
    products = f64x2.add(products, f64x2.mul(l, r));
    totals = f64x2.add(totals, x);
    peaks = f64x2.pmax(peaks, f64x2.abs(x));
  }
  v128.store(sums, squares);
  v128.store(sums, midSide, 16);
  v128.store(sums, products, 32);
  v128.store(sums, totals, 48);
  v128.store(sums, peaks, 64);
}

// Twin: StereoKWeighting of k-weighting.ts. At `state`: seven coefficients (b0 b1 b2 a1 a2, a1 a2 of the low cut) and
// from 64 on, pairs: four of filter state, energies of left and right, products (twice the same).
export function addWeighted(left: usize, right: usize, count: i32, state: usize): void {
  const b0 = v128.load64_splat(state);
  const b1 = v128.load64_splat(state, 8);
  const b2 = v128.load64_splat(state, 16);
  const a1 = v128.load64_splat(state, 24);
  const a2 = v128.load64_splat(state, 32);
  const c1 = v128.load64_splat(state, 40);
  const c2 = v128.load64_splat(state, 48);
  let s0 = v128.load(state, 64);
  let s1 = v128.load(state, 80);
  let t0 = v128.load(state, 96);
  let t1 = v128.load(state, 112);
  let energies = v128.load(state, 128);
  let products = v128.load(state, 144);
  const bytes = <usize>count << 2;
  for (let n: usize = 0; n < bytes; n += 4) {
    const x = frameAt(left + n, right + n);
    const y = f64x2.add(f64x2.mul(b0, x), s0);
    s0 = f64x2.sub(f64x2.add(f64x2.mul(b1, x), s1), f64x2.mul(a1, y));
    s1 = f64x2.sub(f64x2.mul(b2, x), f64x2.mul(a2, y));
    const z = f64x2.add(y, t0);
    t0 = f64x2.sub(f64x2.sub(t1, f64x2.add(y, y)), f64x2.mul(c1, z));
    t1 = f64x2.sub(y, f64x2.mul(c2, z));
    energies = f64x2.add(energies, f64x2.mul(z, z));
    products = f64x2.add(products, f64x2.mul(firstTwice(z), secondTwice(z)));
  }
  v128.store(state, settled(s0), 64);
  v128.store(state, settled(s1), 80);
  v128.store(state, settled(t0), 96);
  v128.store(state, settled(t1), 112);
  v128.store(state, energies, 128);
  v128.store(state, products, 144);
}

/** 0 where the size is below 1e-30: silence is not to compute on denormals. */
@inline function settled(pair: v128): v128 {
  return v128.and(pair, f64x2.ge(f64x2.abs(pair), f64x2.splat(1e-30)));
}

// ---------------------------------------------------------------------------------------------------------------------
// Transform of the long-term spectrum. Twin: plainTransformer of mid-side-transform.ts.

/** Times a unit number whose two parts stand at `turn`. */
@inline function turned(pair: v128, turn: usize): v128 {
  const real = v128.load64_splat(turn);
  const imaginary = v128.xor(v128.load64_splat(turn, 8), f64x2(-0.0, 0.0));
  return f64x2.add(f64x2.mul(pair, real), f64x2.mul(swapped(pair), imaginary));
}

/** Times the imaginary unit. */
@inline function quarterTurned(pair: v128): v128 { return v128.xor(swapped(pair), f64x2(-0.0, 0.0)); }

/** Frame `n` of mid + i side under the window: its rising slope (`slope` values) stands at `gains`, already halved. */
@inline function midSide(left: usize, right: usize, n: i32, size: i32, gains: usize, slope: i32): v128 {
  const inside = min(n, size - 1 - n);
  const gain = inside < slope ? load<f64>(gains + (<usize>inside << 3)) : 0.5;
  const at = <usize>n << 2;
  const l = f64x2.splat(<f64>load<f32>(left + at));
  const r = f64x2.splat(<f64>load<f32>(right + at));
  return f64x2.mul(f64x2.splat(gain), f64x2.add(l, v128.xor(r, f64x2(0.0, -0.0))));
}

/** One butterfly of four. */
@inline function four(a: v128, b: v128, c: v128, d: v128, to: usize, step: usize, w1: usize, w2: usize, w3: usize): void {
  const sum = f64x2.add(a, c);
  const difference = f64x2.sub(a, c);
  const otherSum = f64x2.add(b, d);
  const otherDifference = quarterTurned(f64x2.sub(b, d));
  v128.store(to, f64x2.add(sum, otherSum));
  v128.store(to + step, turned(f64x2.sub(difference, otherDifference), w1));
  v128.store(to + 2 * step, turned(f64x2.sub(sum, otherSum), w2));
  v128.store(to + 3 * step, turned(f64x2.add(difference, otherDifference), w3));
}

/**
 * Transform of windowed mid + i side (`size` a power of two, 16 and up), by fours without reordering (Stockham). `turns`:
 * exp(-2 pi i k / size) for k below 3/4 size. Returns whether the result stands at `a` or at `b`.
 */
export function transform(
  left: usize, right: usize, size: i32, gains: usize, slope: i32, turns: usize, a: usize, b: usize,
): usize {
  const quarter = size >> 2;
  for (let p = 0; p < quarter; p++) {
    const turn = <usize>p << 4;
    four(
      midSide(left, right, p, size, gains, slope),
      midSide(left, right, p + quarter, size, gains, slope),
      midSide(left, right, p + 2 * quarter, size, gains, slope),
      midSide(left, right, p + 3 * quarter, size, gains, slope),
      a + (<usize>p << 6), 16, turns + turn, turns + 2 * turn, turns + 3 * turn,
    );
  }
  let from = a;
  let to = b;
  let length = quarter;
  let stride = 4;
  for (; length >= 4; length >>= 2, stride <<= 2) {
    const part = length >> 2;
    const step = <usize>stride << 4;
    const apart = <usize>part * step;
    for (let p = 0; p < part; p++) {
      const turn = <usize>p * step;
      const w2 = turns + 2 * turn;
      const w3 = turns + 3 * turn;
      let at = from + turn;
      let into = to + 4 * turn;
      for (const end = at + step; at < end; at += 16, into += 16) {
        four(
          v128.load(at), v128.load(at + apart), v128.load(at + 2 * apart), v128.load(at + 3 * apart),
          into, step, turns + turn, w2, w3,
        );
      }
    }
    const swap = from;
    from = to;
    to = swap;
  }
  if (length == 2) {
    const step = <usize>stride << 4;
    for (let at: usize = 0; at < step; at += 16) {
      const x = v128.load(from + at);
      const y = v128.load(from + at + step);
      v128.store(to + at, f64x2.add(x, y));
      v128.store(to + at + step, f64x2.sub(x, y));
    }
    return to;
  }
  return from;
}

/**
 * Takes the spectra of mid and side out of one of mid + i side: bins 0 to half of `size` of each in single precision, real
 * and imaginary parts in turn. Twin: plainSeparate of mid-side-transform.ts.
 */
export function separate(spectrum: usize, size: i32, mid: usize, side: usize): void {
  const half = f64x2.splat(0.5);
  const conjugate = f64x2(0.0, -0.0);
  for (let bin = 0; bin <= size >> 1; bin++, mid += 8, side += 8) {
    const here = v128.load(spectrum + (<usize>bin << 4));
    const mirror = v128.xor(v128.load(spectrum + (<usize>(bin == 0 ? 0 : size - bin) << 4)), conjugate);
    const even = f64x2.mul(half, f64x2.add(here, mirror));
    const odd = f64x2.mul(half, swapped(v128.xor(f64x2.sub(here, mirror), f64x2(-0.0, 0.0))));
    v128.store64_lane(mid, f32x4.demote_f64x2_zero(even), 0);
    v128.store64_lane(side, f32x4.demote_f64x2_zero(odd), 0);
  }
}

// ---------------------------------------------------------------------------------------------------------------------
// True peak. Twin: truePeakIn of true-peak.ts, where what is done here is explained. The half-way values are single
// precision here: they only choose where to climb, with a margin of 1 %, and the climb is double precision.

const BLOCK = 256;
const GROUP = 16;

/** Set by truePeakSetUp: taps on either side, kernels of 32 phases, shares by step, half-way taps and room for a block. */
let reach: i32 = 0;
let kernels: usize = 0;
let shares: usize = 0;
let taps: usize = 0;
let buffer: usize = 0;
let halfway: usize = 0;
let bound: f64 = 0;
let level: f64 = 0;
let curve: f64 = 0;
let halfSample: f64 = 0;

/** The best so far, and its place in the buffer in steps of 1/32 sample. */
let bestValue: f64 = 0;
let bestPosition: i32 = 0;
let bestFrame: f64 = 0;

export function truePeakSetUp(
  reach_: i32, kernels_: usize, shares_: usize, taps_: usize, buffer_: usize, halfway_: usize,
  bound_: f64, level_: f64, curve_: f64, halfSample_: f64,
): void {
  reach = reach_;
  kernels = kernels_;
  shares = shares_;
  taps = taps_;
  buffer = buffer_;
  halfway = halfway_;
  bound = bound_;
  level = level_;
  curve = curve_;
  halfSample = halfSample_;
}

/** Frame of the value that truePeakIn returned last. */
export function truePeakFrame(): f64 { return bestFrame; }

/** The greatest size above `floor`, or `floor`. At `peaks` there is room for (to - from) / 256 + 3 numbers. */
export function truePeakIn(samples: usize, length: i32, from: i32, to: i32, floor: f64, peaks: usize): f64 {
  const blocks = (to - from + BLOCK - 1) / BLOCK;
  let loudest = 0;
  for (let block = 0; block < blocks + 2; block++) {
    const peak = blockPeak(samples, length, from + (block - 1) * BLOCK);
    store<f64>(peaks + (<usize>block << 3), peak);
    if (block > 0 && block <= blocks && peak > load<f64>(peaks + (<usize>(loudest + 1) << 3))) loudest = block - 1;
  }
  bestValue = floor;
  for (let turn = -1; turn < blocks; turn++) {
    const block = turn < 0 ? loudest : turn;
    const at = peaks + (<usize>block << 3);
    const peak = max(max(load<f64>(at), load<f64>(at, 8)), load<f64>(at, 16));
    if (peak * bound <= bestValue) continue;
    const start = from + block * BLOCK;
    const lead = reach + 4;
    fill(samples, length, start - lead, BLOCK + 2 * lead);
    const bend = curve * greatestBend(BLOCK + 2 * lead);
    const before = bestValue;
    if (peak * level + bend <= before) continue;
    const share = load<f64>(shares + (16 << 3)) * before;
    fillHalfway(lead, <f32>share, <f32>(share - bend));
    climbAll(lead, min(BLOCK, to - start));
    if (bestValue > before) bestFrame = <f64>(start - lead) + <f64>bestPosition / 32;
  }
  return bestValue;
}

function blockPeak(samples: usize, length: i32, start: i32): f64 {
  const end = min(length, start + BLOCK);
  let n = max(0, start);
  let peaks = f32x4.splat(0);
  for (; n + 4 <= end; n += 4) peaks = f32x4.pmax(peaks, f32x4.abs(v128.load(samples + (<usize>n << 2))));
  let peak = max(
    max(f32x4.extract_lane(peaks, 0), f32x4.extract_lane(peaks, 1)),
    max(f32x4.extract_lane(peaks, 2), f32x4.extract_lane(peaks, 3)),
  );
  for (; n < end; n++) {
    const size = abs(load<f32>(samples + (<usize>n << 2)));
    if (size > peak) peak = size;
  }
  return <f64>peak;
}

/** Copies `count` samples from `start` on into the buffer, silence where there are none, and behind them. */
function fill(samples: usize, length: i32, start: i32, count: i32): void {
  const first = min(count, max(0, -start));
  const end = max(first, min(count, length - start));
  memory.fill(buffer, 0, <usize>first << 2);
  memory.copy(buffer + (<usize>first << 2), samples + (<usize>(start + first) << 2), <usize>(end - first) << 2);
  memory.fill(buffer + (<usize>end << 2), 0, <usize>(count + GROUP - end) << 2);
}

function greatestBend(count: i32): f64 {
  let greatest = f32x4.splat(0);
  const end = buffer + (<usize>(count - 2) << 2);
  for (let at = buffer; at < end; at += 16) {
    const here = v128.load(at, 4);
    const bend = f32x4.add(f32x4.sub(v128.load(at), f32x4.add(here, here)), v128.load(at, 8));
    greatest = f32x4.pmax(greatest, f32x4.abs(bend));
  }
  const most = max(
    max(f32x4.extract_lane(greatest, 0), f32x4.extract_lane(greatest, 1)),
    max(f32x4.extract_lane(greatest, 2), f32x4.extract_lane(greatest, 3)),
  );
  // Rounding of single precision must not make the bound too small.
  return <f64>most * 1.00001;
}

@inline function anyReaches(values: usize, limit: v128): bool {
  const first = f32x4.pmax(f32x4.abs(v128.load(values)), f32x4.abs(v128.load(values, 16)));
  const second = f32x4.pmax(f32x4.abs(v128.load(values, 32)), f32x4.abs(v128.load(values, 48)));
  return v128.any_true(f32x4.ge(f32x4.pmax(first, second), limit));
}

/** Half-way values after the sample before the block and after each of it, 16 at a time; 0 where none can matter. */
function fillHalfway(lead: i32, share: f32, straight: f32): void {
  const limit = f32x4.splat(straight);
  for (let n = 0; n <= BLOCK; n += GROUP) {
    const into = halfway + (<usize>n << 2);
    const at = buffer + (<usize>(lead - 1 + n) << 2);
    if (straight > 0 && !anyReaches(at, limit) && abs(load<f32>(at, 64)) < straight) {
      memory.fill(into, 0, GROUP << 2);
      continue;
    }
    let y0 = f32x4.splat(0);
    let y1 = y0;
    let y2 = y0;
    let y3 = y0;
    let left = at;
    let right = at + 4;
    const end = taps + (<usize>reach << 2);
    for (let tap = taps; tap < end; tap += 4, left -= 4, right += 4) {
      const weight = v128.load32_splat(tap);
      y0 = f32x4.add(y0, f32x4.mul(weight, f32x4.add(v128.load(left), v128.load(right))));
      y1 = f32x4.add(y1, f32x4.mul(weight, f32x4.add(v128.load(left, 16), v128.load(right, 16))));
      y2 = f32x4.add(y2, f32x4.mul(weight, f32x4.add(v128.load(left, 32), v128.load(right, 32))));
      y3 = f32x4.add(y3, f32x4.mul(weight, f32x4.add(v128.load(left, 48), v128.load(right, 48))));
    }
    v128.store(into, y0);
    v128.store(into, y1, 16);
    v128.store(into, y2, 32);
    v128.store(into, y3, 48);
  }
}

function climbAll(lead: i32, count: i32): void {
  const share = load<f64>(shares + (16 << 3));
  for (let n = 0; n < count; n += 4) {
    const at = buffer + (<usize>(lead + n) << 2);
    const between = halfway + (<usize>n << 2);
    const sizes = f32x4.pmax(f32x4.abs(v128.load(at)), f32x4.abs(v128.load(between, 4)));
    if (!v128.any_true(f32x4.ge(sizes, f32x4.splat(<f32>(share * bestValue * 0.9999))))) continue;
    const end = min(4, count - n);
    for (let k = 0; k < end; k++) {
      const here = <f64>load<f32>(at + (<usize>k << 2));
      const next = <f64>load<f32>(at + (<usize>k << 2), 4);
      const before = <f64>load<f32>(between + (<usize>k << 2));
      const after = <f64>load<f32>(between + (<usize>k << 2), 4);
      if (canLead(before, here, after, share)) climb((lead + n + k) * 32);
      if (canLead(here, after, next, share)) climb((lead + n + k) * 32 + 16);
    }
  }
}

@inline function canLead(before: f64, here: f64, after: f64, share: f64): bool {
  const side: f64 = here < 0 ? -1 : 1;
  const top = side * here;
  if (top < share * bestValue) return false;
  const other = max(side * before, side * after);
  if (other > top) return false;
  if (top >= bestValue) return true;
  const cosines = top * other - halfSample * bestValue * bestValue;
  return (
    cosines > 0 &&
    cosines * cosines >= (bestValue * bestValue - top * top) * (bestValue * bestValue - other * other)
  );
}

function climb(start: i32): void {
  let position = start;
  const middle = valueAt(position);
  const side: f64 = middle < 0 ? -1 : 1;
  let top = side * middle;
  for (let step = 8; step >= 1; step >>= 1) {
    const left = side * valueAt(position - step);
    const right = side * valueAt(position + step);
    if (left > top && left >= right) position -= step;
    else if (right > top) position += step;
    top = max(top, max(left, right));
    if (top < load<f64>(shares + (<usize>step << 3)) * bestValue) return;
  }
  if (top > bestValue) {
    bestValue = top;
    bestPosition = position;
  }
}

// Twin: valueAt of interpolation.ts. Sums of every fourth tap, as there.
function valueAt(position: i32): f64 {
  const phase = position & 31;
  let at = buffer + (<usize>((position >> 5) - reach + 1) << 2);
  let row = kernels + (<usize>(phase * 2 * reach) << 3);
  let first = f64x2.splat(0);
  let second = f64x2.splat(0);
  for (const end = row + (<usize>(2 * reach) << 3); row < end; row += 32, at += 16) {
    const samples = v128.load(at);
    const late = v128.shuffle<f32>(samples, samples, 2, 3, 2, 3);
    first = f64x2.add(first, f64x2.mul(v128.load(row), f64x2.promote_low_f32x4(samples)));
    second = f64x2.add(second, f64x2.mul(v128.load(row, 16), f64x2.promote_low_f32x4(late)));
  }
  const sum = f64x2.add(first, second);
  return f64x2.extract_lane(sum, 0) + f64x2.extract_lane(sum, 1);
}

// ---------------------------------------------------------------------------------------------------------------------
// Products of many sounds, for blends. Twins: dots.ts, mid-side-weighting.ts, gram-row.ts, sub-blocks.ts and
// peak-bounds.ts in src/blend. Sums are kept in two lanes, of every second number, and the twins keep them so too.

/** Two successive numbers of either precision, or one and 0. */
@inline function twoAt<T>(at: usize): v128 {
  return sizeof<T>() == 4 ? f64x2.promote_low_f32x4(v128.load64_zero(at)) : v128.load(at);
}
@inline function oneAt<T>(at: usize): v128 {
  return sizeof<T>() == 4 ? f64x2.promote_low_f32x4(v128.load32_zero(at)) : v128.load64_zero(at);
}
@inline function bothLanes(pair: v128): f64 { return f64x2.extract_lane(pair, 0) + f64x2.extract_lane(pair, 1); }

@inline function addTo(sum: usize, weight: f64, pair: v128): void {
  store<f64>(sum, load<f64>(sum) + weight * bothLanes(pair));
}

/** Adds `weight` times the products of a row with four columns, `apart` bytes one from the next, to four sums. */
@inline function addFour<T>(row: usize, column: usize, apart: usize, count: i32, weight: f64, sums: usize): void {
  let a = f64x2.splat(0);
  let b = a;
  let c = a;
  let d = a;
  const end = row + <usize>(count & ~1) * sizeof<T>();
  for (; row < end; row += 2 * sizeof<T>(), column += 2 * sizeof<T>()) {
    const x = twoAt<T>(row);
    a = f64x2.add(a, f64x2.mul(x, twoAt<T>(column)));
    b = f64x2.add(b, f64x2.mul(x, twoAt<T>(column + apart)));
    c = f64x2.add(c, f64x2.mul(x, twoAt<T>(column + 2 * apart)));
    d = f64x2.add(d, f64x2.mul(x, twoAt<T>(column + 3 * apart)));
  }
  if (count & 1) {
    const x = oneAt<T>(row);
    a = f64x2.add(a, f64x2.mul(x, oneAt<T>(column)));
    b = f64x2.add(b, f64x2.mul(x, oneAt<T>(column + apart)));
    c = f64x2.add(c, f64x2.mul(x, oneAt<T>(column + 2 * apart)));
    d = f64x2.add(d, f64x2.mul(x, oneAt<T>(column + 3 * apart)));
  }
  addTo(sums, weight, a);
  addTo(sums + 8, weight, b);
  addTo(sums + 16, weight, c);
  addTo(sums + 24, weight, d);
}

/** The same for as many fours of columns as `passes` says. */
export function addSingles(
  row: usize, column: usize, apart: usize, passes: i32, count: i32, weight: f64, sums: usize,
): void {
  for (; passes > 0; passes--, column += 4 * apart, sums += 32) addFour<f32>(row, column, apart, count, weight, sums);
}
export function addDoubles(
  row: usize, column: usize, apart: usize, passes: i32, count: i32, weight: f64, sums: usize,
): void {
  for (; passes > 0; passes--, column += 4 * apart, sums += 32) addFour<f64>(row, column, apart, count, weight, sums);
}

/**
 * K-weighting of mid and side: writes four vectors `apart` bytes one from the next, weighted mid and side, and left and
 * right as they are.
 */
// At `filter`: nine coefficients and one of padding, as in mid-side-weighting.ts, then four pairs of state.
export function weigh(left: usize, right: usize, count: i32, filter: usize, into: usize, apart: usize): void {
  const b0 = v128.load64_splat(filter);
  const b1 = v128.load64_splat(filter, 8);
  const b2 = v128.load64_splat(filter, 16);
  const a1 = v128.load64_splat(filter, 24);
  const a2 = v128.load64_splat(filter, 32);
  const d1 = v128.load64_splat(filter, 40);
  const d2 = v128.load64_splat(filter, 48);
  const c1 = v128.load64_splat(filter, 56);
  const c2 = v128.load64_splat(filter, 64);
  let s0 = v128.load(filter, 80);
  let s1 = v128.load(filter, 96);
  let t0 = v128.load(filter, 112);
  let t1 = v128.load(filter, 128);
  const half = f64x2.splat(0.5);
  const flip = f64x2(0.0, -0.0);
  for (const end = left + (<usize>count << 2); left < end; left += 4, right += 4, into += 8) {
    const frame = frameAt(left, right);
    v128.store64_lane(into + 2 * apart, frame, 0);
    v128.store64_lane(into + 3 * apart, frame, 1);
    const x = f64x2.mul(half, f64x2.add(firstTwice(frame), v128.xor(secondTwice(frame), flip)));
    const y = f64x2.add(f64x2.mul(b0, x), s0);
    const r0 = f64x2.sub(f64x2.add(f64x2.mul(b1, x), s1), f64x2.mul(a1, s0));
    s1 = f64x2.sub(f64x2.mul(b2, x), f64x2.mul(a2, s0));
    s0 = r0;
    const z = f64x2.add(y, t0);
    const q0 = f64x2.sub(f64x2.sub(t1, f64x2.mul(d1, y)), f64x2.mul(c1, t0));
    t1 = f64x2.sub(f64x2.mul(d2, y), f64x2.mul(c2, t0));
    t0 = q0;
    v128.store64_lane(into, z, 0);
    v128.store64_lane(into + apart, z, 1);
  }
  v128.store(filter, settled(s0), 80);
  v128.store(filter, settled(s1), 96);
  v128.store(filter, settled(t0), 112);
  v128.store(filter, settled(t1), 128);
}

/** The same filter from rest, backwards in time and in place over `count` numbers each of mid and, `apart`, of side. */
export function weighBackwards(mid: usize, apart: usize, count: i32, filter: usize): void {
  const b0 = v128.load64_splat(filter);
  const b1 = v128.load64_splat(filter, 8);
  const b2 = v128.load64_splat(filter, 16);
  const a1 = v128.load64_splat(filter, 24);
  const a2 = v128.load64_splat(filter, 32);
  const d1 = v128.load64_splat(filter, 40);
  const d2 = v128.load64_splat(filter, 48);
  const c1 = v128.load64_splat(filter, 56);
  const c2 = v128.load64_splat(filter, 64);
  let s0 = f64x2.splat(0);
  let s1 = s0;
  let t0 = s0;
  let t1 = s0;
  for (let at = mid + (<usize>(count - 1) << 3); at >= mid; at -= 8) {
    const x = v128.load64_lane(at + apart, v128.load64_zero(at), 1);
    const y = f64x2.add(f64x2.mul(b0, x), s0);
    const r0 = f64x2.sub(f64x2.add(f64x2.mul(b1, x), s1), f64x2.mul(a1, s0));
    s1 = f64x2.sub(f64x2.mul(b2, x), f64x2.mul(a2, s0));
    s0 = r0;
    const z = f64x2.add(y, t0);
    const q0 = f64x2.sub(f64x2.sub(t1, f64x2.mul(d1, y)), f64x2.mul(c1, t0));
    t1 = f64x2.sub(f64x2.mul(d2, y), f64x2.mul(c2, t0));
    t0 = q0;
    v128.store64_lane(at, z, 0);
    v128.store64_lane(at + apart, z, 1);
  }
}

/**
 * Products of one sound with another: at `own`, `apart` bytes one from the next, vectors multiplied with the other's left +
 * right, left - right, left and right. Writes the four sums to `sums`.
 */
export function crossProducts(own: usize, apart: usize, left: usize, right: usize, count: i32, sums: usize): void {
  let mid = f64x2.splat(0);
  let side = mid;
  let lefts = mid;
  let rights = mid;
  for (const end = left + (<usize>(count & ~1) << 2); left < end; left += 8, right += 8, own += 16) {
    const l = twoAt<f32>(left);
    const r = twoAt<f32>(right);
    mid = f64x2.add(mid, f64x2.mul(v128.load(own), f64x2.add(l, r)));
    side = f64x2.add(side, f64x2.mul(v128.load(own + apart), f64x2.sub(l, r)));
    lefts = f64x2.add(lefts, f64x2.mul(v128.load(own + 2 * apart), l));
    rights = f64x2.add(rights, f64x2.mul(v128.load(own + 3 * apart), r));
  }
  if (count & 1) {
    const l = oneAt<f32>(left);
    const r = oneAt<f32>(right);
    mid = f64x2.add(mid, f64x2.mul(oneAt<f64>(own), f64x2.add(l, r)));
    side = f64x2.add(side, f64x2.mul(oneAt<f64>(own + apart), f64x2.sub(l, r)));
    lefts = f64x2.add(lefts, f64x2.mul(oneAt<f64>(own + 2 * apart), l));
    rights = f64x2.add(rights, f64x2.mul(oneAt<f64>(own + 3 * apart), r));
  }
  store<f64>(sums, bothLanes(mid));
  store<f64>(sums, bothLanes(side), 8);
  store<f64>(sums, bothLanes(lefts), 16);
  store<f64>(sums, bothLanes(rights), 24);
}

/**
 * For each of `blocks` blocks of 32 samples: the greatest and the least of it and of the sample behind it, and the
 * greatest size of its second differences. Adds the samples to the two lanes at `total`.
 */
export function extremes(samples: usize, blocks: i32, highest: usize, lowest: usize, bends: usize, total: usize): void {
  let sum = v128.load(total);
  for (; blocks > 0; blocks--, highest += 4, lowest += 4, bends += 4) {
    let high = v128.load32_splat(samples);
    let low = high;
    let bend = f64x2.splat(0);
    for (const end = samples + 128; samples < end; samples += 16) {
      const after = v128.load(samples, 4);
      high = f32x4.pmax(high, after);
      low = f32x4.pmin(low, after);
      const first = twoAt<f32>(samples);
      const second = twoAt<f32>(samples + 8);
      sum = f64x2.add(f64x2.add(sum, first), second);
      bend = f64x2.pmax(bend, bendOf(samples - 4, first, samples + 4));
      bend = f64x2.pmax(bend, bendOf(samples + 4, second, samples + 12));
    }
    high = f32x4.pmax(high, v128.shuffle<f64>(high, high, 1, 0));
    low = f32x4.pmin(low, v128.shuffle<f64>(low, low, 1, 0));
    store<f32>(highest, max(f32x4.extract_lane(high, 0), f32x4.extract_lane(high, 1)));
    store<f32>(lowest, min(f32x4.extract_lane(low, 0), f32x4.extract_lane(low, 1)));
    store<f32>(bends, <f32>max(f64x2.extract_lane(bend, 0), f64x2.extract_lane(bend, 1)));
  }
  v128.store(total, sum);
}

@inline function bendOf(before: usize, here: v128, after: usize): v128 {
  return f64x2.abs(f64x2.add(f64x2.sub(twoAt<f32>(before), f64x2.add(here, here)), twoAt<f32>(after)));
}

/** For `rows` rows (an even number) of `count` numbers, the sums of their products with `weights`. Twin: rowSum of sub-blocks.ts. */
export function rowSums(values: usize, rows: i32, count: i32, weights: usize, sums: usize): void {
  const bytes = <usize>count << 3;
  const end = weights + (bytes & ~31);
  for (; rows > 0; rows -= 2, values += 2 * bytes, sums += 16) {
    let ab = f64x2.splat(0);
    let cd = ab;
    let ef = ab;
    let gh = ab;
    let at = values;
    let weight = weights;
    for (; weight < end; weight += 32, at += 32) {
      const first = v128.load(weight);
      const second = v128.load(weight, 16);
      ab = f64x2.add(ab, f64x2.mul(first, v128.load(at)));
      cd = f64x2.add(cd, f64x2.mul(second, v128.load(at, 16)));
      ef = f64x2.add(ef, f64x2.mul(first, v128.load(at + bytes)));
      gh = f64x2.add(gh, f64x2.mul(second, v128.load(at + bytes, 16)));
    }
    for (; weight < weights + bytes; weight += 8, at += 8) {
      const one = v128.load64_zero(weight);
      ab = f64x2.add(ab, f64x2.mul(one, v128.load64_zero(at)));
      ef = f64x2.add(ef, f64x2.mul(one, v128.load64_zero(at + bytes)));
    }
    store<f64>(sums, bothLanes(ab) + bothLanes(cd));
    store<f64>(sums, bothLanes(ef) + bothLanes(gh), 8);
  }
}
