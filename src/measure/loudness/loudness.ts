import { subBlockStart, type WeightedEnergy } from './weighted-energy.ts';

/**
 * Loudness of ITU-R BS.1770-5 and EBU Tech 3341, loudness range of EBU Tech 3342.
 *
 * "Power" here is the sum over channels of weight times mean square of the K-weighted samples. The lower functions
 * take powers per 100 ms from any source, so that gating and range exist once.
 */

/** Loudness figures of one sound. null: the figure does not exist (too short, or nothing above the gate). */
export interface Loudness {
  /** Integrated, LUFS. */
  readonly integrated: number | null;
  /** Loudness range, LU. */
  readonly range: number | null;
  /** Highest momentary (400 ms), LUFS. */
  readonly maxMomentary: number | null;
  /** Highest short-term (3 s), LUFS. */
  readonly maxShortTerm: number | null;
}

/** Length of the windows in 10 ms sub-blocks, and in 100 ms blocks. */
export const MOMENTARY = 40;
export const SHORT_TERM = 300;
const BLOCK = 10;

/** Gates: absolute in LUFS; relative in LU below the ungated mean power. */
const ABSOLUTE_GATE = -70;
const INTEGRATED_GATE = -10;
const RANGE_GATE = -20;

/** Weights for 1 to 6 channels: L R C LFE Ls Rs; four are L R Ls Rs, five L R C Ls Rs. 1.41 as printed, not 1.4125. */
const WEIGHTS: readonly (readonly number[])[] = [
  [1],
  [1, 1],
  [1, 1, 1],
  [1, 1, 1.41, 1.41],
  [1, 1, 1, 1.41, 1.41],
  [1, 1, 1, 0, 1.41, 1.41],
];

/** Weight of each of `count` channels (BS.1770-5 table 3), or null beyond six. A single channel has weight 1. */
export const channelWeights = (count: number): readonly number[] | null => WEIGHTS[count - 1] ?? null;

/** Loudness of a power, LUFS; -Infinity for 0. */
export const lufsOf = (power: number): number => -0.691 + 10 * Math.log10(power);

const powerOf = (lufs: number): number => 10 ** ((lufs + 0.691) / 10);

/** All four figures. @throws RangeError for more than six channels, or none. */
export function loudnessOf(energy: WeightedEnergy): Loudness {
  const blocks = blockPowers(energy);
  return {
    integrated: integratedFromBlocks(blocks),
    range: loudnessRangeFromShortTerm(shortTermFromBlocks(blocks)),
    maxMomentary: highest(momentaryPowers(energy)),
    maxShortTerm: highest(shortTermPowers(energy)),
  };
}

/** Power of each 400 ms window, one every 10 ms (Tech 3341 cases 13 and 14 fail at 100 ms). Element 0 ends at 400 ms. */
export const momentaryPowers = (energy: WeightedEnergy): Float64Array => slidingPowers(energy, MOMENTARY, 1);

/** Power of each 3 s window, one every 10 ms. Element 0 ends at 3 s. */
export const shortTermPowers = (energy: WeightedEnergy): Float64Array => slidingPowers(energy, SHORT_TERM, 1);

/** Power of each whole 100 ms block. */
export const blockPowers = (energy: WeightedEnergy): Float64Array => slidingPowers(energy, BLOCK, BLOCK);

/** Powers of the gating blocks (400 ms, 75 % overlap), one every 100 ms, from the powers of successive 100 ms blocks. */
export const gatingPowers = (blocks: Float64Array): Float64Array => means(blocks, MOMENTARY / BLOCK);

/** Power that a gating block must exceed to count: -70 LUFS, or 10 LU below the mean of those above it if higher. */
export function gateOf(gating: Float64Array): number {
  const absolute = powerOf(ABSOLUTE_GATE);
  return Math.max(absolute, meanAbove(gating, absolute) * 10 ** (INTEGRATED_GATE / 10));
}

/** Integrated loudness, LUFS, from the powers of successive 100 ms blocks, with both gates; null when nothing passes. */
export function integratedFromBlocks(blocks: Float64Array): number | null {
  const gating = gatingPowers(blocks);
  const power = meanAbove(gating, gateOf(gating));
  return power > 0 ? lufsOf(power) : null;
}

/** Short-term powers every 100 ms from the powers of successive 100 ms blocks. Element 0 ends at 3 s. */
export const shortTermFromBlocks = (blocks: Float64Array): Float64Array => means(blocks, SHORT_TERM / BLOCK);

/**
 * Loudness range, LU, from short-term powers at an even hop of at most 100 ms: those at or above -70 LUFS and at or
 * above their mean power less 20 LU; the level that 95 % of them do not exceed less the one for 10 %. null when none
 * is left.
 *
 * Callers append no silence, though Tech 3342 asks for 1.5 s after a file: sound that dies away reads the same to
 * 0.01 LU either way, but sound cut off while loud gains up to 1 LU that is not in it, and the tools that readings are
 * compared with append none.
 */
export function loudnessRangeFromShortTerm(powers: Float64Array): number | null {
  const audible = powers.filter((power) => power >= powerOf(ABSOLUTE_GATE));
  const gate = meanAbove(audible, 0) * 10 ** (RANGE_GATE / 10);
  const kept = audible.filter((power) => power >= gate).sort();
  if (kept.length === 0) return null;
  const percentile = (p: number): number => kept[Math.round((kept.length - 1) * p)]!;
  return 10 * Math.log10(percentile(0.95) / percentile(0.1));
}

/** Mean of the values above `floor`; 0 when there is none. */
function meanAbove(values: Float64Array, floor: number): number {
  let sum = 0;
  let count = 0;
  for (const value of values) {
    if (value > floor) {
      sum += value;
      count++;
    }
  }
  return count > 0 ? sum / count : 0;
}

/** Mean of every `length` successive values, one step apart. */
function means(values: Float64Array, length: number): Float64Array {
  const out = new Float64Array(Math.max(0, values.length - length + 1));
  for (let at = 0; at < out.length; at++) {
    let sum = 0;
    for (let k = at; k < at + length; k++) sum += values[k]!;
    out[at] = sum / length;
  }
  return out;
}

/** Power of each window of `length` sub-blocks, `hop` apart, that lies wholly inside the sound. */
function slidingPowers(energy: WeightedEnergy, length: number, hop: number): Float64Array {
  const { sampleRate, whole } = energy;
  const series = weightedSum(energy);
  const out = new Float64Array(Math.max(0, Math.floor((whole - length) / hop) + 1));
  let sum = 0;
  for (let k = 0; k < length && k < whole; k++) sum += series[k]!;
  for (let at = 0; at < out.length; at++) {
    const from = at * hop;
    out[at] = Math.max(0, sum) / (subBlockStart(from + length, sampleRate) - subBlockStart(from, sampleRate));
    for (let k = from; k < from + hop && k + length < whole; k++) sum += series[k + length]! - series[k]!;
  }
  return out;
}

/** Sum over channels of weight times energy, for each whole sub-block. */
function weightedSum({ channels, whole }: WeightedEnergy): Float64Array {
  const weights = channelWeights(channels.length);
  if (!weights) throw new RangeError(`loudness is defined for 1 to ${WEIGHTS.length} channels, not ${channels.length}`);
  const out = new Float64Array(whole);
  channels.forEach((series, c) => {
    const weight = weights[c]!;
    for (let k = 0; k < whole; k++) out[k] = out[k]! + weight * series[k]!;
  });
  return out;
}

function highest(powers: Float64Array): number | null {
  let max = 0;
  for (const power of powers) if (power > max) max = power;
  return max > 0 ? lufsOf(max) : null;
}
