import { fourier } from './signals.ts';

/** Blackman-Harris window of four terms: side lobes 92 dB down. */
const window = (n: number, length: number): number => {
  const angle = (2 * Math.PI * n) / length;
  return 0.35875 - 0.48829 * Math.cos(angle) + 0.14128 * Math.cos(2 * angle) - 0.01168 * Math.cos(3 * angle);
};

/** Power spectrum of the first power of two of samples (up to Nyquist), under a Blackman-Harris window. */
export function powerSpectrum(samples: Float64Array): Float64Array {
  const length = 2 ** Math.floor(Math.log2(samples.length));
  const re = Float64Array.from({ length }, (_, n) => samples[n]! * window(n, length));
  const im = new Float64Array(length);
  fourier(re, im);
  return Float64Array.from({ length: length / 2 }, (_, bin) => re[bin]! ** 2 + im[bin]! ** 2);
}

/**
 * What a move of a parameter throws out of a sine's own band: power further than `halfWidth` Hz from `hz`, relative to all
 * power, dB. A click spreads over the whole spectrum; a smooth move stays beside the sine.
 */
export function splatterDb(samples: Float64Array, hz: number, halfWidth: number, sampleRate = 48000): number {
  const power = powerSpectrum(samples);
  const hzPerBin = sampleRate / (2 * power.length);
  let inside = 0;
  let outside = 0;
  for (let bin = 0; bin < power.length; bin++) {
    if (Math.abs(bin * hzPerBin - hz) > halfWidth) outside += power[bin]!;
    else inside += power[bin]!;
  }
  return 10 * Math.log10(outside / (inside + outside));
}
