import { framesOf, onBothSides, type Audio, type Sound } from '../audio/audio.ts';
import { decibelsOf } from '../audio/decibels.ts';
import { finished } from '../audio/steps.ts';
import { bandFiguresOf, spectrumOf } from './spectrum.ts';
import { blockPowers, integratedFromBlocks } from './loudness/loudness.ts';
import { truePeakOf } from './peaks/true-peak.ts';
import { weightedEnergyOf, weightedEnergySteps } from './loudness/weighted-energy.ts';

/** Integrated loudness as heard, LUFS (ITU-R BS.1770-5); null: shorter than 0.4 s, or nothing above the gate. */
export const heardLoudness = (audio: Sound): number | null => finished(heardLoudnessSteps(audio));

/** The same step by step; each step yields the part done, 0..1. */
export function* heardLoudnessSteps(audio: Sound): Generator<number, number | null> {
  if (framesOf(audio) === 0) return null;
  return integratedFromBlocks(blockPowers(yield* weightedEnergySteps(onBothSides(audio))));
}

/** True peak, dBTP (ITU-R BS.1770-5 Annex 2); null for silence. */
const heardTruePeak = ({ channels }: Audio): number | null => {
  const { value } = truePeakOf(channels);
  return value === 0 ? null : decibelsOf(value);
};

/**
 * Integrated loudness as heard, LUFS; for sound below the absolute gate, computed as if there were no such gate, so
 * that presets also fit very quiet sound. null: silence.
 */
const loudnessAtAnyLevel = (audio: Audio): number | null => {
  const heard = heardLoudness(audio);
  if (heard !== null || framesOf(audio) === 0) return heard;
  const powers = blockPowers(weightedEnergyOf(onBothSides(audio)));
  const greatest = powers.reduce((a, b) => Math.max(a, b), 0);
  if (greatest === 0) return null;
  const loudness = integratedFromBlocks(powers.map((power) => power / greatest));
  return loudness === null ? null : loudness + 10 * Math.log10(greatest);
};

/** Level of each third octave, dB, from 25 Hz up; null where it holds nothing. */
const heardBands = (audio: Audio): (number | null)[] =>
  bandFiguresOf(spectrumOf(audio), audio.sampleRate).map(({ levelDb }) => levelDb);

/** Meters used for fitting presets. */
export const fitMeters = { loudness: loudnessAtAnyLevel, truePeak: heardTruePeak, bands: heardBands } as const;
