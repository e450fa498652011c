import { framesOf, onBothSides, type Audio } from '../audio/audio.ts';
import { decibelsOf } from '../audio/decibels.ts';
import { blockPowers, integratedFromBlocks } from './loudness.ts';
import { truePeakOf } from './true-peak.ts';
import { weightedEnergyOf } from './weighted-energy.ts';

/** Integrated loudness as heard, LUFS (ITU-R BS.1770-5); null: shorter than 0.4 s, or nothing above the gate. */
export const heardLoudness = (audio: Audio): number | null =>
  framesOf(audio) === 0 ? null : integratedFromBlocks(blockPowers(weightedEnergyOf(onBothSides(audio))));

/** True peak, dBTP (ITU-R BS.1770-5 Annex 2); null for silence. */
export const heardTruePeak = ({ channels }: Audio): number | null => {
  const { value } = truePeakOf(channels);
  return value === 0 ? null : decibelsOf(value);
};
