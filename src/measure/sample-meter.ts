import { stereoKernel, type StereoKernel } from './kernels/stereo-kernel.ts';
import { CLIPPED_RUN, FULL_SCALE, type Levels } from './levels.ts';
import { Series } from './series.ts';
import type { StereoSums } from './stereo/stereo.ts';

/** Sums over the samples of each 10 ms sub-block. */
export interface SampleSeries {
  /** Energy of all channels together. */
  readonly energy: Float64Array;
  /** For two channels, sums as in StereoSums. Otherwise null. */
  readonly stereo: { readonly [name in keyof StereoSums]: Float64Array } | null;
}

/** Names of the sums of two channels, in the order in which they are kept. */
const SUMS = ['left', 'right', 'cross', 'mid', 'side'] as const;

/** Running state of one channel. */
interface ChannelState {
  peak: number;
  sum: number;
  clipped: number;
  /** Clipped runs that have ended. */
  runs: number;
  /** Samples of the clipped run that reaches the end so far, and its side of zero. */
  run: number;
  side: number;
}

/** Levels and stereo sums of sound that comes piece by piece. The caller ends each sub-block. */
export class SampleMeter {
  private readonly states: readonly ChannelState[];
  private readonly energy = new Series();
  private readonly stereo: readonly Series[];
  /** Sums of the sub-block that has begun, and of the whole before it. */
  private readonly part = new Float64Array(SUMS.length);
  private readonly whole = new Float64Array(SUMS.length);
  private frames = 0;

  constructor(
    channels: number,
    private readonly kernel: StereoKernel | null = stereoKernel(),
  ) {
    this.states = Array.from({ length: channels }, () => ({ peak: 0, sum: 0, clipped: 0, runs: 0, run: 0, side: 0 }));
    this.stereo = channels === 2 ? SUMS.map(() => new Series()) : [];
  }

  /** Adds `count` frames of `channels` from frame `from` on, all of one sub-block. */
  add(channels: readonly Float32Array[], from: number, count: number): void {
    this.frames += count;
    if (channels.length === 2 && this.kernel) this.addFast(this.kernel, channels[0]!, channels[1]!, from, count);
    else if (channels.length === 2) this.addStereo(channels[0]!, channels[1]!, from, count);
    else channels.forEach((samples, c) => this.addChannel(samples, from, count, this.states[c]!));
  }

  endSubBlock(): void {
    const { part, whole } = this;
    this.energy.push(part[0]! + part[1]!);
    this.stereo.forEach((series, n) => series.push(part[n]!));
    for (let n = 0; n < part.length; n++) whole[n] = whole[n]! + part[n]!;
    part.fill(0);
  }

  levels(): Levels {
    const { states, frames, whole, part } = this;
    const means = states.map(({ sum }) => sum / frames);
    return {
      peak: states.reduce((greatest, { peak }) => Math.max(greatest, peak), 0),
      meanSquare: (whole[0]! + whole[1]! + part[0]! + part[1]!) / (frames * states.length),
      dcOffset: means.reduce((farthest, mean) => (Math.abs(mean) > Math.abs(farthest) ? mean : farthest), 0),
      clippedSamples: states.reduce((sum, { clipped, run }) => sum + clipped + (run >= CLIPPED_RUN ? run : 0), 0),
    };
  }

  /** Runs of clipped samples, all channels together. */
  clippedRuns(): number {
    return this.states.reduce((sum, { runs, run }) => sum + runs + (run >= CLIPPED_RUN ? 1 : 0), 0);
  }

  /** Sums over the whole; null but for two channels. */
  sums(): StereoSums | null {
    if (this.stereo.length === 0) return null;
    const [left, right, cross, mid, side] = this.whole.map((sum, n) => sum + this.part[n]!);
    return { left: left!, right: right!, cross: cross!, mid: mid! / 4, side: side! / 4 };
  }

  /** The whole sub-blocks so far: views that hold until the next piece. */
  series(): SampleSeries {
    const [left, right, cross, mid, side] = this.stereo.map((series) => series.values());
    const energy = this.energy.values();
    if (!left || !right || !cross || !mid || !side) return { energy, stereo: null };
    const quarter = (values: Float64Array): Float64Array => values.map((value) => value / 4);
    return { energy, stereo: { left, right, cross, mid: quarter(mid), side: quarter(side) } };
  }

  /** As addStereo, with SIMD. */
  private addFast(kernel: StereoKernel, left: Float32Array, right: Float32Array, from: number, count: number): void {
    const { part, states } = this;
    const { sums } = kernel;
    const [first, second] = [states[0]!, states[1]!];
    sums[0] = part[0]!;
    sums[1] = part[1]!;
    sums[2] = part[3]!;
    sums[3] = part[4]!;
    sums[4] = sums[5] = part[2]!;
    sums[6] = first.sum;
    sums[7] = second.sum;
    kernel.addSums(left, right, from, count);
    part[0] = sums[0];
    part[1] = sums[1];
    part[2] = sums[4];
    part[3] = sums[2];
    part[4] = sums[3];
    first.sum = sums[6];
    second.sum = sums[7];
    addPeak(first, sums[8]!, left, from, count);
    addPeak(second, sums[9]!, right, from, count);
  }

  private addStereo(left: Float32Array, right: Float32Array, from: number, count: number): void {
    const { part, states } = this;
    const [first, second] = [states[0]!, states[1]!];
    // Sums are accumulated in order, so that they are the same to the last bit for pieces of any length.
    let { sum: leftSum } = first;
    let { sum: rightSum } = second;
    let [ll, rr, lr, mm, ss] = [part[0]!, part[1]!, part[2]!, part[3]!, part[4]!];
    let leftPeak = 0;
    let rightPeak = 0;
    for (let n = from; n < from + count; n++) {
      const l = left[n]!;
      const r = right[n]!;
      leftPeak = Math.max(leftPeak, Math.abs(l));
      rightPeak = Math.max(rightPeak, Math.abs(r));
      leftSum += l;
      rightSum += r;
      ll += l * l;
      rr += r * r;
      lr += l * r;
      mm += (l + r) * (l + r);
      ss += (l - r) * (l - r);
    }
    part[0] = ll;
    part[1] = rr;
    part[2] = lr;
    part[3] = mm;
    part[4] = ss;
    first.sum = leftSum;
    second.sum = rightSum;
    addPeak(first, leftPeak, left, from, count);
    addPeak(second, rightPeak, right, from, count);
  }

  private addChannel(samples: Float32Array, from: number, count: number, state: ChannelState): void {
    let squares = this.part[0]!;
    let { sum } = state;
    let peak = 0;
    for (let n = from; n < from + count; n++) {
      const x = samples[n]!;
      peak = Math.max(peak, Math.abs(x));
      sum += x;
      squares += x * x;
    }
    this.part[0] = squares;
    state.sum = sum;
    addPeak(state, peak, samples, from, count);
  }
}

/** Adds the peak of a piece, and its clipped runs: one may go on from the piece before, and into the one after. */
function addPeak(state: ChannelState, peak: number, samples: Float32Array, from: number, count: number): void {
  state.peak = Math.max(state.peak, peak);
  if (peak < FULL_SCALE && state.run === 0) return;
  const end = from + count;
  const sideOf = (x: number): number => (x >= FULL_SCALE ? 1 : x <= -FULL_SCALE ? -1 : 0);
  for (let n = from; n < end; n++) {
    const side = sideOf(samples[n]!);
    if (side !== 0 && side === state.side) {
      state.run++;
      continue;
    }
    if (state.run >= CLIPPED_RUN) {
      state.clipped += state.run;
      state.runs++;
    }
    state.side = side;
    state.run = side === 0 ? 0 : 1;
  }
}
