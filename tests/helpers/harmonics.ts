import type { Settings } from '../../src/dsp/core/parameter.ts';
import { both, stepOf, through } from './chains.ts';
import { fourier } from './signals.ts';

/** Frames that a spectrum is taken from. */
const FRAMES = 65536;

/** Frequency nearest to `hz`, cycles a sample, of which an odd number of periods fits into `frames`. */
export const wholeCycles = (hz: number, frames: number, sampleRate = 48000): number =>
  (2 * Math.round((hz * frames) / sampleRate / 2) + 1) / frames;

/** What a processor makes of a steady sine: its spectrum, and the bin of the sine. */
export interface SineSpectrum {
  /** Amplitude by bin. */
  readonly amplitudes: Float64Array;
  readonly cycles: number;
}

/** Spectrum of the last 65536 frames of a steady sine of that peak, after a second of it. */
export function sineSpectrum(processor: string, settings: Settings, hz: number, peak: number): SineSpectrum {
  const turn = 2 * Math.PI * wholeCycles(hz, FRAMES);
  const input = Float64Array.from({ length: FRAMES + 48000 }, (_, n) => peak * Math.sin(turn * n));
  const real = through([stepOf(processor, settings)], both(input)).left.slice(-FRAMES);
  const imaginary = new Float64Array(FRAMES);
  fourier(real, imaginary);
  const amplitudes = real.slice(0, FRAMES / 2).map((x, bin) => Math.hypot(x, imaginary[bin]!) / (FRAMES / 2));
  return { amplitudes, cycles: Math.round(wholeCycles(hz, FRAMES) * FRAMES) };
}

/** Total harmonic distortion of such a sine, of 1: root of the sum of squares of harmonics 2 to 20 over the first. */
export function distortionOf(processor: string, settings: Settings, hz: number, peak: number): number {
  const { amplitudes, cycles } = sineSpectrum(processor, settings, hz, peak);
  let squares = 0;
  for (let order = 2; order <= 20; order++) squares += (amplitudes[order * cycles] ?? 0) ** 2;
  return Math.sqrt(squares) / amplitudes[cycles]!;
}

/** All that is not a harmonic of the sine, from 40 Hz to 20 kHz, against it, dB. */
export function falseTonesDb(processor: string, settings: Settings, hz: number, peak: number): number {
  const { amplitudes, cycles } = sineSpectrum(processor, settings, hz, peak);
  let squares = 0;
  for (let bin = Math.round((40 / 48000) * FRAMES); bin < (20000 / 48000) * FRAMES; bin++)
    if (bin % cycles !== 0) squares += amplitudes[bin]! ** 2;
  return 10 * Math.log10(squares / amplitudes[cycles]! ** 2);
}
