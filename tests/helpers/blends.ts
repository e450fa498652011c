import { expect } from 'vitest';
import type { Audio } from '../../src/audio/audio.ts';
import type { Figures } from '../../src/measure/figures.ts';

/** The paths times their gains, summed in double precision and rounded to samples, as a render does. */
export const summedPaths = (sounds: readonly Audio[], gains: readonly number[]): Audio => ({
  sampleRate: sounds[0]!.sampleRate,
  channels: [0, 1].map((n) => {
    const sum = new Float64Array(sounds[0]!.channels[n]!.length);
    sounds.forEach(({ channels }, i) => {
      const samples = channels[n]!;
      for (let frame = 0; frame < sum.length; frame++) sum[frame]! += gains[i]! * samples[frame]!;
    });
    return new Float32Array(sum);
  }),
});

/** All numbers of some figures by name; those of bands begin with a digit. */
const flat = ({ bands, stereo: width, ...rest }: Figures): Record<string, unknown> => ({
  ...rest,
  ...width,
  ...Object.fromEntries(
    bands.flatMap(({ hz, levelDb, sideToMidDb }) => [
      [`${hz} level`, levelDb],
      [`${hz} side`, sideToMidDb],
    ]),
  ),
});

/** The measured sum has single-precision samples, the quadratic form has not: this much of whole-band figures, dB and LU. */
const ROUNDING = 1e-6;
/** A third octave may hold a ten-thousandth of the energy, so the same rounding is larger beside it. */
const BAND_ROUNDING = 1e-5;

/** Where a channel nearly cancels, the rounding of its spectra (single precision) is large beside its energy. */
const CORRELATION_ROUNDING = 1e-5;

const roundingOf = (name: string): number => {
  if (name === 'correlation') return CORRELATION_ROUNDING;
  return /^\d/.test(name) ? BAND_ROUNDING : ROUNDING;
};

/** Expects every figure of `found` to be that of `measured` but for rounding, and the same ones not to exist. */
export const expectSameFigures = (found: Figures, measured: Figures): void => {
  const reference = flat(measured);
  for (const [name, value] of Object.entries(flat(found))) {
    const expected = reference[name];
    if (typeof value !== 'number' || typeof expected !== 'number') expect([name, value]).toEqual([name, expected]);
    else expect(Math.abs(value - expected), `${name}: ${value} for ${expected}`).toBeLessThan(roundingOf(name));
  }
};
