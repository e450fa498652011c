import { fourier } from './signals.ts';

const FRAMES = 1024;
/** Blackman-Harris window of four terms: side lobes 92 dB down. */
const WINDOW = Float64Array.from({ length: FRAMES }, (_, n) => {
  const angle = (2 * Math.PI * n) / FRAMES;
  return 0.35875 - 0.48829 * Math.cos(angle) + 0.14128 * Math.cos(2 * angle) - 0.01168 * Math.cos(3 * angle);
});
const WINDOW_POWER = WINDOW.reduce((sum, w) => sum + w * w, 0);

/**
 * Highest level above `aboveHz` in any window of 1024 samples (half overlapped), dB relative to a sine of peak `peak`.
 * A click is short and wide: it lifts this for one window where a slow, smooth change does not.
 */
export function loudestBurstDb(samples: Float64Array, aboveHz: number, peak: number, sampleRate = 48000): number {
  let most = 0;
  const re = new Float64Array(FRAMES);
  const im = new Float64Array(FRAMES);
  for (let from = 0; from + FRAMES <= samples.length; from += FRAMES / 2) {
    for (let n = 0; n < FRAMES; n++) re[n] = samples[from + n]! * WINDOW[n]!;
    im.fill(0);
    fourier(re, im);
    let power = 0;
    for (let bin = Math.ceil((aboveHz * FRAMES) / sampleRate); bin < FRAMES / 2; bin++)
      power += re[bin]! ** 2 + im[bin]! ** 2;
    most = Math.max(most, (2 * power) / (FRAMES * WINDOW_POWER));
  }
  return most === 0 ? -Infinity : 10 * Math.log10(most / (peak ** 2 / 2));
}
