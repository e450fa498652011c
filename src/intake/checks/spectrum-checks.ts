import type { Audio } from '../../audio/audio.ts';
import { quantile } from '../rough/median.ts';
import { humCheck } from './hum-check.ts';
import { spectraOf } from './spectra.ts';
import { wallCheck } from './wall-check.ts';
import { warning, type Warning } from './warning.ts';

// Limits in this file are common practice, set so that ordinary tracks raise nothing.

/** Blocks of which the quietest are the noise floor, seconds. */
const FLOOR_BLOCK = 0.1;
/** Noise is told from this level on, dBFS rms. */
const LEAST_NOISE = -62;
/** It is as steady as this between the quietest and more of the quiet blocks, dB, and so far below the sound. */
const [NOISE_STEADY, BELOW_SOUND] = [1.5, 18];

const noiseFloor = ({ channels, sampleRate }: Audio): Warning[] => {
  const length = Math.round(FLOOR_BLOCK * sampleRate);
  const levels: number[] = [];
  for (let from = 0; from + length <= channels[0]!.length; from += length) {
    let sum = 0;
    for (const channel of channels) {
      let [squares, offset] = [0, 0];
      for (let n = from; n < from + length; n++) {
        squares += channel[n]! ** 2;
        offset += channel[n]!;
      }
      // An offset is no noise, and is told as what it is.
      sum += squares - offset ** 2 / length;
    }
    levels.push(10 * Math.log10(Math.max(0, sum) / (length * channels.length) + 1e-30));
  }
  if (levels.length < 20) return [];
  const [lowest, more, loud] = [0.03, 0.12, 0.9].map((part) => quantile(levels, part)) as [number, number, number];
  const isNoise = lowest > LEAST_NOISE && more - lowest < NOISE_STEADY && loud - lowest > BELOW_SOUND;
  if (!isNoise) return [];
  return [
    warning(
      'noise-floor',
      `Its pauses are noisy: they stay at ${lowest.toFixed(0)} dBFS, ${(loud - lowest).toFixed(0)} dB below its loud parts.`,
      'Gate or cut its pauses; compression will bring the noise up.',
    ),
  ];
};

/** What the spectrum of one file tells by itself. */
export const spectrumChecks = (audio: Audio): Warning[] => {
  const spectra = spectraOf(audio);
  const isThere = spectra.frames.some((frame) => frame.some((power) => power > 0));
  if (!isThere) return [];
  const hums = humCheck(audio, spectra);
  // Hum is a noise floor too, and is told as what it is.
  return [...wallCheck(audio, spectra), ...hums, ...(hums.length > 0 ? [] : noiseFloor(audio))];
};
