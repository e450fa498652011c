import { CONTROL_FRAMES } from '../core/processor.ts';
import { GatedMean } from './gated-mean.ts';
import { Ramp } from '../core/ramp.ts';
import { toggle } from '../core/parameter-builders.ts';
import { WeightedPower } from './weighted-power.ts';

/** Length of a hop, seconds, and hops of a gating block, as in ITU-R BS.1770. */
const HOP_SECONDS = 0.1;
const HOPS = 4;
/** Its absolute gate, -70 LUFS, as power. */
const ABSOLUTE_GATE = 10 ** ((-70 + 0.691) / 10);
/** Time constant of the gain, seconds. */
const GAIN_SECONDS = 0.03;
/** After this much sound, seconds, the gain moves by no more than 0.25 dB a hop, so that it does not pump. */
const SETTLED_SECONDS = 3;
const MOST_A_HOP = 10 ** (0.25 / 20);
/** After a change of settings it moves by no more than 1 dB a hop, and measures at least this many blocks before it restarts. */
const MOST_A_HOP_CHANGED = 10 ** (1 / 20);
const LEAST_BLOCKS = 10;
/**
 * The gain’s error at the beginning is compensated over a twentieth of the measured time, no faster than this (seconds), by
 * at most 3 dB.
 */
const REPAY_SECONDS = 2;
const REPAY_SHARE = 0.05;
const MOST_REPAID = 10 ** (3 / 20);
/** Largest gain up or down, dB: more than a compressor or saturator here changes the level in practice. */
const MOST_DB = 48;
/** The same for filters and envelopes: otherwise a first sound that they mostly remove would be raised far too much. */
export const MOST_FILTERED_DB = 12;

/** The switch by which processors offer it. */
export const KEEP_LOUDNESS = toggle('Auto gain', {
  about:
    'Matches the output to the integrated loudness of the input, measured since the start: it evens out loud and soft sections; a constant gain does not.',
});

const within = (value: number, most: number): number => Math.min(most, Math.max(1 / most, value));

/**
 * Matches the output of a processor to the integrated loudness (ITU-R BS.1770, gated) of its input, over all sound
 * since the start: the longer that is, the slower the gain moves. The gain's error at the beginning is compensated
 * soon after, by at most 3 dB. When settings change, measuring starts again from the present gain. In silence the gain
 * stays. Off, it does nothing.
 */
export class LoudnessMatch {
  private readonly before: WeightedPower;
  private readonly after: WeightedPower;
  /** Mean powers of the input, of the processed sound, and of the output. */
  private readonly means = [new GatedMean(), new GatedMean(), new GatedMean()] as const;
  /** Power summed over the current hop, and over the last hops, for each of the three. */
  private readonly hop = new Float64Array(3);
  private readonly hops = [new Float64Array(HOPS), new Float64Array(HOPS), new Float64Array(HOPS)] as const;
  /** Total power of input and processed sound before the first gating block. */
  private readonly first = new Float64Array(2);
  private readonly gain: Ramp;
  private readonly blocksPerHop: number;
  private blocks = 0;
  private hopsDone = 0;
  /** Gating blocks that count since the start, or since settings changed. */
  private heard = 0;
  /** True when settings changed after some of those. */
  private stale = false;
  /** True before the first gating block, and before settings have changed. */
  private beginning = true;
  private unchanged = true;
  private target = 1;
  /** Largest gain either way, a factor. */
  private readonly most: number;

  constructor(
    private on: boolean,
    sampleRate: number,
    mostDb = MOST_DB,
  ) {
    this.most = 10 ** (mostDb / 20);
    this.before = new WeightedPower(sampleRate);
    this.after = new WeightedPower(sampleRate);
    this.gain = new Ramp(1, sampleRate, GAIN_SECONDS);
    this.blocksPerHop = Math.round((HOP_SECONDS * sampleRate) / CONTROL_FRAMES);
  }

  /** True when it is off. */
  get idle(): boolean {
    return !this.on && this.gain.settled && this.gain.value === 1;
  }

  /** @param changed whether settings have changed: the loudness measured so far then no longer predicts the output */
  set(on: boolean, changed = true): void {
    this.stale ||= changed;
    if (on === this.on) return;
    this.on = on;
    this.forget();
    this.gain.set(1);
  }

  control(): void {
    if (this.on) this.follow();
    this.gain.control();
  }

  /** Measures frames start..end-1 of the input. */
  hear(left: Float64Array, right: Float64Array, start: number, end: number): void {
    if (this.on) this.before.hear(left, right, start, end);
  }

  /** Measures the same frames at the output, and applies the gain; `position` frames of the control block are already done. */
  level(left: Float64Array, right: Float64Array, start: number, end: number, position: number): void {
    if (this.on) this.after.hear(left, right, start, end);
    const { gain } = this;
    if (!(gain.settled && gain.value === 1)) gain.scale(left, right, start, end, position);
  }

  reset(): void {
    this.forget();
    this.gain.set(1);
    this.gain.reset();
  }

  private forget(): void {
    this.before.clear();
    this.after.clear();
    for (const mean of this.means) mean.clear();
    for (const hops of this.hops) hops.fill(0);
    this.hop.fill(0);
    this.first.fill(0);
    this.blocks = this.hopsDone = this.heard = 0;
    this.stale = false;
    this.beginning = this.unchanged = true;
    this.target = 1;
  }

  /** Adds the control block that has ended, and sets the gain from all sound so far. */
  private follow(): void {
    const { hop, first, gain } = this;
    const before = this.before.control();
    const after = this.after.control();
    hop[0]! += before;
    hop[1]! += after;
    hop[2]! += after * gain.value * gain.end;
    if (this.beginning && before > ABSOLUTE_GATE) {
      first[0]! += before;
      first[1]! += after;
      if (first[1]! > 0) this.target = within(Math.sqrt(first[0]! / first[1]!), this.most);
    }
    if (++this.blocks === this.blocksPerHop) this.endHop();
    gain.set(this.target);
  }

  private endHop(): void {
    const { hop, hops, means } = this;
    for (let n = 0; n < means.length; n++) {
      hops[n]![this.hopsDone % HOPS] = hop[n]! / this.blocksPerHop;
      hop[n] = 0;
    }
    this.blocks = 0;
    if (this.stale && this.heard >= LEAST_BLOCKS) this.startAgain();
    if (++this.hopsDone < HOPS) return;
    let counts = true;
    for (let n = 0; n < means.length; n++) {
      const from = hops[n]!;
      const power = (from[0]! + from[1]! + from[2]! + from[3]!) / HOPS;
      if (n === 0) counts = power > ABSOLUTE_GATE;
      if (counts) means[n]!.add(power);
    }
    if (!counts) return;
    this.heard++;
    this.beginning = false;
    this.aim();
  }

  private aim(): void {
    const { means, heard, target } = this;
    const before = means[0].mean();
    const after = means[1].mean();
    const out = means[2].mean();
    if (after <= 0 || out <= 0) return;
    const seconds = heard * HOP_SECONDS;
    const share = seconds / Math.max(REPAY_SECONDS, REPAY_SHARE * seconds);
    const missed = within(Math.sqrt(before / out), MOST_REPAID);
    const aim = within(Math.sqrt(before / after), this.most) * within(1 + (missed - 1) * share, MOST_REPAID);
    if (seconds > SETTLED_SECONDS) this.target = target * within(aim / target, MOST_A_HOP);
    else this.target = this.unchanged ? aim : target * within(aim / target, MOST_A_HOP_CHANGED);
  }

  private startAgain(): void {
    for (const mean of this.means) mean.clear();
    this.hopsDone = this.heard = 0;
    this.stale = this.unchanged = false;
  }
}
