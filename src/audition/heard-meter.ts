import { StereoKWeighting, type StereoEnergy } from '../measure/loudness/k-weighting.ts';
import { lufsOf, MOMENTARY, SHORT_TERM } from '../measure/loudness/loudness.ts';
import { REACH } from '../measure/peaks/interpolation.ts';
import { plainTruePeakIn } from '../measure/peaks/true-peak-search.ts';
import { subBlockStart } from '../measure/loudness/weighted-energy.ts';
import { READ } from './meters.ts';

/** Frames that are looked at together for their true peak. */
const GATHERED = 1024;

/** True peak of one channel that is played, in small pieces. */
class PlayedTruePeak {
  value = 0;
  private readonly samples = new Float32Array(2 * REACH + GATHERED);
  private filled = 2 * REACH;

  add(samples: Float32Array, count: number): void {
    for (let at = 0; at < count;) {
      const run = Math.min(count - at, this.samples.length - this.filled);
      for (let i = 0; i < run; i++) this.samples[this.filled + i] = samples[at + i]!;
      at += run;
      this.filled += run;
      if (this.filled === this.samples.length) this.look();
    }
  }

  private look(): void {
    const end = this.samples.length - REACH;
    this.value = plainTruePeakIn(this.samples, this.value, REACH, end)?.value ?? this.value;
    this.samples.copyWithin(0, GATHERED);
    this.filled = 2 * REACH;
  }
}

/** Sums over the last sub-blocks of 10 ms. */
class LastSubBlocks {
  private readonly sums: Float64Array;
  private next = 0;

  constructor(private readonly kept: number) {
    this.sums = new Float64Array(kept);
  }

  push(sum: number): void {
    this.sums[this.next] = sum;
    this.next = (this.next + 1) % this.kept;
  }

  /** Sum of the last `count`. */
  last(count: number): number {
    let sum = 0;
    for (let n = 1; n <= count; n++) sum += this.sums[(this.next - n + this.kept) % this.kept]!;
    return sum;
  }
}

/** Meters of what is heard: levels since the last reading; loudness and correlation over windows that end now. */
export class HeardMeter {
  private readonly weighting: StereoKWeighting;
  private readonly weighted: StereoEnergy = { left: 0, right: 0, cross: 0 };
  private readonly loudness = new LastSubBlocks(SHORT_TERM);
  private readonly leftEnergy = new LastSubBlocks(MOMENTARY);
  private readonly rightEnergy = new LastSubBlocks(MOMENTARY);
  private readonly crossEnergy = new LastSubBlocks(MOMENTARY);
  private readonly truePeaks: readonly [PlayedTruePeak, PlayedTruePeak] = [new PlayedTruePeak(), new PlayedTruePeak()];
  private readonly sub = { left: 0, right: 0, cross: 0 };
  private readonly since = { left: 0, right: 0, frames: 0, leftPeak: 0, rightPeak: 0 };
  private frames = 0;
  private subBlocks = 0;

  constructor(private readonly sampleRate: number) {
    // Where it is played, calls are short: the kernel for long ones has no use.
    this.weighting = new StereoKWeighting(sampleRate, null);
  }

  /** Adds frames 0..count-1 of both channels. */
  add(left: Float32Array, right: Float32Array, count: number): void {
    this.truePeaks[0].add(left, count);
    this.truePeaks[1].add(right, count);
    for (let at = 0; at < count;) {
      const boundary = subBlockStart(this.subBlocks + 1, this.sampleRate);
      const run = Math.min(count - at, boundary - this.frames);
      this.weighting.add(left, right, at, run, this.weighted);
      this.sum(left, right, at, run);
      at += run;
      this.frames += run;
      if (this.frames === boundary) this.endSubBlock();
    }
  }

  private sum(left: Float32Array, right: Float32Array, from: number, count: number): void {
    const { sub, since } = this;
    let [ll, rr, lr, leftPeak, rightPeak] = [0, 0, 0, since.leftPeak, since.rightPeak];
    for (let i = from; i < from + count; i++) {
      const l = left[i]!;
      const r = right[i]!;
      ll += l * l;
      rr += r * r;
      lr += l * r;
      leftPeak = Math.max(leftPeak, Math.abs(l));
      rightPeak = Math.max(rightPeak, Math.abs(r));
    }
    sub.left += ll;
    sub.right += rr;
    sub.cross += lr;
    since.left += ll;
    since.right += rr;
    since.frames += count;
    since.leftPeak = leftPeak;
    since.rightPeak = rightPeak;
  }

  private endSubBlock(): void {
    const { weighted, sub } = this;
    this.loudness.push(weighted.left + weighted.right);
    this.leftEnergy.push(sub.left);
    this.rightEnergy.push(sub.right);
    this.crossEnergy.push(sub.cross);
    weighted.left = weighted.right = weighted.cross = 0;
    sub.left = sub.right = sub.cross = 0;
    this.subBlocks++;
  }

  /** Loudness of the last `length` sub-blocks, LUFS; NaN: not so many yet, or silence. */
  private lufsOver(length: number): number {
    if (this.subBlocks < length) return NaN;
    const { subBlocks, sampleRate } = this;
    const frames = subBlockStart(subBlocks, sampleRate) - subBlockStart(subBlocks - length, sampleRate);
    const power = this.loudness.last(length) / frames;
    return power > 0 ? lufsOf(power) : NaN;
  }

  private correlation(): number {
    const [left, right] = [this.leftEnergy.last(MOMENTARY), this.rightEnergy.last(MOMENTARY)];
    return left > 0 && right > 0 ? this.crossEnergy.last(MOMENTARY) / Math.sqrt(left * right) : NaN;
  }

  /** Writes what is read now to its places of a message, and begins the next reading. */
  read(values: Float32Array): void {
    const { since } = this;
    const frames = Math.max(1, since.frames);
    values[READ.leftPeak] = since.leftPeak;
    values[READ.rightPeak] = since.rightPeak;
    values[READ.leftRms] = Math.sqrt(since.left / frames);
    values[READ.rightRms] = Math.sqrt(since.right / frames);
    values[READ.truePeak] = Math.max(this.truePeaks[0].value, this.truePeaks[1].value);
    values[READ.momentary] = this.lufsOver(MOMENTARY);
    values[READ.shortTerm] = this.lufsOver(SHORT_TERM);
    values[READ.correlation] = this.correlation();
    since.left = since.right = since.frames = since.leftPeak = since.rightPeak = 0;
  }
}
