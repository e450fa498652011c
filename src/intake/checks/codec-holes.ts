import FFT from 'fft.js';
import type { Audio } from '../../audio/audio.ts';
import { quantile } from '../rough/median.ts';

/** Frames about as long as those that codecs quantise, seconds, and so many of them, spread over the file. */
const FRAME_SECONDS = 0.0213;
const MOST_FRAMES = 1600;
/** Bands of so many bins are looked at from here, Hz, to so far below the wall. */
const [BINS, LOWEST, BELOW_WALL] = [8, 4000, 400];
/** A band that lies so far below one of its neighbours, dB, is a hole: power of noise in eight bins stays within a fraction of that. */
const HOLE_DB = 25;
/** Part of all bands in the louder half of the frames that are holes. Held-out voices, drums and guitars that were cut at 9 to 15 kHz had none; MP3 of 64 and 96 kbit/s 0.08 % to 6 %. */
const LEAST_PART = 3e-4;

/**
 * Whether bands below a wall at `hz` fall away for single frames, as bands do that a codec had no bits for. A microphone
 * or a line that ends at the wall leaves them filled.
 */
export const hasHoles = ({ channels, sampleRate }: Audio, hz: number): boolean => {
  const channel = channels[0]!;
  const size = 2 ** Math.round(Math.log2(FRAME_SECONDS * sampleRate));
  const perBin = sampleRate / size;
  const from = Math.ceil(LOWEST / perBin);
  const bands = Math.floor(((hz - BELOW_WALL) / perBin - from) / BINS);
  if (bands < 4) return false;
  const window = Float64Array.from({ length: size }, (_, n) => 0.5 - 0.5 * Math.cos((2 * Math.PI * n) / size));
  const fft = new FFT(size);
  const [data, out] = [new Float64Array(2 * size), new Float64Array(2 * size)];
  const last = channel.length - size;
  const count = Math.min(MOST_FRAMES, Math.floor((2 * last) / size));
  const frames = Array.from({ length: Math.max(0, count) }, (_, k) => {
    const start = Math.round((k * last) / count);
    for (let n = 0; n < size; n++) data[2 * n] = window[n]! * channel[start + n]!;
    fft.transform(out, data);
    return Float64Array.from({ length: bands }, (__, band) => {
      let sum = 0;
      for (let bin = from + band * BINS; bin < from + (band + 1) * BINS; bin++)
        sum += out[2 * bin]! ** 2 + out[2 * bin + 1]! ** 2;
      return sum;
    });
  });
  const energies = frames.map((powers) => powers.reduce((sum, power) => sum + power, 0));
  const limit = quantile(energies, 0.5);
  const [loud, ratio] = [frames.filter((_, n) => energies[n]! > limit), 10 ** (HOLE_DB / 10)];
  let [holes, looked] = [0, 0];
  for (const powers of loud) {
    for (let band = 1; band + 1 < bands; band++, looked++)
      if (Math.max(powers[band - 1]!, powers[band + 1]!) > ratio * powers[band]!) holes++;
  }
  return holes > LEAST_PART * looked;
};
