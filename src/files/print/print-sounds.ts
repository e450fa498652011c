import { framesOf, placedSound, stretchOf, type Sound } from '../../audio/audio.ts';
import { resampled } from '../../audio/resample.ts';
import type { PrintOrder } from './print-order.ts';

/** Frames summed in one pass. */
const PIECE = 32_768;

/** Position of a print in the rendered sound, frames at the rate of the print. */
export interface Placing {
  readonly sampleRate: number;
  /** Frames of silence before the sound. */
  readonly head: number;
  /** First frame of the song that is printed. */
  readonly from: number;
  /** Frames of a file. */
  readonly frames: number;
  /** Frames of sound among them. */
  readonly sounding: number;
}

/** All files of a print are as long as the mix, so that they line up at both ends. */
export const placingOf = (mix: Sound, order: PrintOrder): Placing => {
  const { span, headSeconds = 0, tailSeconds = 0 } = order;
  const sampleRate = order.rate ?? mix.sampleRate;
  const whole = framesOf(resampled(mix, sampleRate));
  const from = span ? Math.min(whole, Math.round(span.startSeconds * sampleRate)) : 0;
  const to = span ? Math.min(whole, Math.round(span.endSeconds * sampleRate)) : whole;
  const head = Math.round(headSeconds * sampleRate);
  const sounding = to - from;
  return { sampleRate, head, from, sounding, frames: head + sounding + Math.round(tailSeconds * sampleRate) };
};

/** A rendered sound prepared for printing: at the rate, cut after conversion so that edges are exact, with silence around it. */
export const placed = (sound: Sound, { sampleRate, head, from, sounding, frames }: Placing): Sound =>
  placedSound(placedSound(resampled(sound, sampleRate), -from, sounding), head, frames);

/** Energy of (whole less the sum of parts) relative to that of the whole, dB; -Infinity where they are equal. All are equally long. */
export const differenceDb = (whole: Sound, parts: readonly Sound[]): number => {
  let [energy, lacking] = [0, 0];
  for (let from = 0; from < framesOf(whole); from += PIECE) {
    const to = Math.min(framesOf(whole), from + PIECE);
    const pieces = parts.map((part) => stretchOf(part, from, to));
    stretchOf(whole, from, to).channels.forEach((channel, c) => {
      for (let i = 0; i < channel.length; i++) {
        let rest = channel[i]!;
        for (const { channels } of pieces) rest -= channels[c]![i]!;
        energy += channel[i]! ** 2;
        lacking += rest ** 2;
      }
    });
  }
  return energy === 0 ? -Infinity : 10 * Math.log10(lacking / energy);
};
