import type { WeightedEnergy } from '../loudness/weighted-energy.ts';

/** Sums over all frames of a left and a right channel, from which the stereo figures follow. */
export interface StereoSums {
  readonly left: number;
  readonly right: number;
  /** Sum of products left times right. */
  readonly cross: number;
  /** Energy of mid (L + R) / 2 and of side (L - R) / 2. */
  readonly mid: number;
  readonly side: number;
}

/** Correlation without lag, -1..+1 (the mean is not taken off); null when a channel is silent. */
export function correlationOf({ left, right, cross }: StereoSums): number | null {
  if (left === 0 || right === 0) return null;
  return Math.max(-1, Math.min(1, cross / Math.sqrt(left) / Math.sqrt(right)));
}

/** `numerator` over `denominator`, both energies, in dB; null when either is 0. */
export const energyRatioDb = (numerator: number, denominator: number): number | null =>
  numerator > 0 && denominator > 0 ? 10 * Math.log10(numerator / denominator) : null;

/**
 * Mono loss, LU, at most 0: the K-weighted energy of left plus right, over twice that of left and right apart, over all
 * frames and without gate. Identical channels lose nothing, independent ones and a single side 3.0103. (As plain
 * loudness, (L + R) / 2 of identical channels reads 3.0103 LU less, as one channel is summed instead of two; that part,
 * which every mono sum has, is left out.) null when there is no energy, before or after.
 */
export function monoLossOf({ channels, cross }: WeightedEnergy): number | null {
  if (!cross) return null;
  const apart = total(channels[0]!) + total(channels[1]!);
  const fold = apart + 2 * total(cross);
  // Channels that cancel do so to rounding; -150 dB is beneath what single-precision samples can hold.
  if (!(fold > apart * 1e-15)) return null;
  return Math.min(0, 10 * Math.log10(fold / (2 * apart)));
}

const total = (values: Float64Array): number => values.reduce((sum, value) => sum + value, 0);
