import { describe, expect, it } from 'vitest';
import { impulse, stepOf, through } from '../helpers/chains.ts';
import { lateField } from '../helpers/room-figures.ts';
import { seeded } from '../helpers/signals.ts';

const RATE = 48000;

const gaussian = (decay: number, seed: number): Float64Array => {
  const random = seeded(seed);
  return Float64Array.from({ length: Math.round((2.2 * decay + 0.2) * RATE) }, (_, n) => {
    const normal = Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());
    return normal * 10 ** ((-3 * n) / (decay * RATE));
  });
};

describe('the measure, on decaying Gaussian noise', () => {
  it.each([1, 2, 3])(
    'gives 5.6 dB (Schroeder 1954), about 10 dB (Schroeder and Kuttruff 1962), 0.011: seed %d',
    (seed) => {
      const figures = lateField(gaussian(2.5, seed), 2.5);
      // Ten other seeds scattered by 0.1 dB, by 9 to 11.5 dB and by 0.0095 to 0.0125.
      expect(Math.abs(figures.spreadDb - 5.6)).toBeLessThan(0.15);
      expect(Math.abs(figures.peakDb - 10.1)).toBeLessThan(1.5);
      expect(Math.abs(figures.repetition - 0.011)).toBeLessThan(0.002);
    },
  );

  it('tells a repetition of one fifth, and a lone resonance', () => {
    const decay = 2.5;
    const noise = gaussian(decay, 4);
    const repeated = noise.map((x, n) => x + 0.2 * (noise[n - 1777] ?? 0));
    expect(lateField(repeated, decay).repetition).toBeGreaterThan(0.15);
    const ringing = noise.map((x, n) => x + 0.3 * 10 ** ((-3 * n) / (decay * RATE)) * Math.sin(n / 5));
    expect(lateField(ringing, decay).peakDb).toBeGreaterThan(20);
  });
});

// The whole grid takes minutes: set REVERB_GRID=all for it.
const whole = process.env['REVERB_GRID'] === 'all';
const characters = ['plate', 'room', 'chamber', 'hall'];
const decays = whole ? [0.4, 0.7, 1, 1.5, 2, 3, 4, 6] : [0.4, 1.5];
const sizes = whole ? [10, 20, 35, 50, 75, 100] : [10, 100];
const grid = characters.flatMap((character) =>
  decays.flatMap((decay) => sizes.map((size) => [character, decay, size] as const)),
);

describe('the late field of the reverb is diffuse, without modulation', () => {
  it.each(whole ? grid : [...grid, ['plate', 6, 10] as const])('%s, decay %f s, size %d', (character, decay, size) => {
    const input = impulse(Math.round((2.2 * decay + 0.2) * RATE));
    const { left, right } = through([stepOf('reverb', { mix: 100, character, decay, size })], input);
    for (const side of [left, right]) {
      const { spreadDb, peakDb, repetition } = lateField(side, decay);
      expect(spreadDb, 'spread, dB').toBeLessThan(5.9);
      // At 6 s noise itself reaches 11.4 dB; the strongest of resonances two to a bandwidth reach higher than noise does.
      expect(peakDb, 'peak, dB').toBeLessThan(decay > 2 ? 15 : 13.5);
      // Each of the 128 ways over two lines to one side comes back with 1/64 of it, and the inputs have as many.
      expect(repetition, 'repetition').toBeLessThan(0.06);
    }
  });
});
