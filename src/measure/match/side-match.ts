import type { Audio } from '../../audio/audio.ts';
import { matchOf } from './match.ts';
import { CLEARLY, type SideSource } from './stereo-match.ts';

/** The source of one side of a second stereo sound, with its own lag and level. */
export interface SideMatch extends NonNullable<SideSource> {
  /** Lag of this side against its source, samples with fraction. */
  readonly exactLagSamples: number;
  /** Gain against its source, dB; "mono" is half the sum of both sides. */
  readonly gainDb: number;
  /** Energy left of this side, over its own, dB. */
  readonly residualDb: number;
}

/** Both sides of a second sound; a silent side is null. */
export interface SideMatches {
  readonly sides: readonly [SideMatch | null, SideMatch | null];
  /** Energy left of both sides together, over that of both, dB. */
  readonly residualDb: number;
}

const energyOf = (samples: Float32Array): number => samples.reduce((sum, sample) => sum + sample * sample, 0);

const partOf = ({ residualDb }: SideMatch): number => 10 ** (residualDb / 10);

/** The best of the sides of the first and their mono sum; the same side unless another leaves clearly less. */
const sideMatchOf = (first: Audio, samples: Float32Array, own: 0 | 1): SideMatch | null => {
  const [left, right] = first.channels as [Float32Array, Float32Array];
  const sources = { left, right, mono: left.map((sample, n) => (sample + right[n]!) / 2) };
  const fits = (own === 0 ? (['left', 'right', 'mono'] as const) : (['right', 'left', 'mono'] as const)).flatMap(
    (from): SideMatch[] => {
      const match = matchOf(sources[from], samples);
      if (!match) return [];
      const { exactLagSamples, gainDb, polarity, residualDb } = match;
      return [{ from, polarity, exactLagSamples, gainDb, residualDb }];
    },
  );
  const [same, ...others] = fits;
  if (!same) return null;
  const least = others.reduce((best, fit) => (partOf(fit) < partOf(best) ? fit : best), same);
  return partOf(least) < CLEARLY * partOf(same) ? least : same;
};

/**
 * Each side of `second` matched by itself with the sides of `first` (both stereo, of one rate, in step to within
 * 4096 samples). null where a side that is not silent shares too little with the first.
 */
export const sideMatchesOf = (first: Audio, second: Audio): SideMatches | null => {
  const energies = second.channels.map(energyOf);
  const sides = second.channels.map((samples, n) =>
    energies[n] === 0 ? null : sideMatchOf(first, samples, n === 0 ? 0 : 1),
  );
  if (sides.some((side, n) => !side && energies[n]! > 0)) return null;
  const left = sides.reduce((sum, side, n) => sum + (side ? partOf(side) * energies[n]! : 0), 0);
  return {
    sides: [sides[0]!, sides[1]!],
    residualDb: 10 * Math.log10(left / (energies[0]! + energies[1]!)),
  };
};
