import { describe, expect, it } from 'vitest';
import { impulse, stepOf, through } from '../helpers/chains.ts';
import { decayTime, echoDensity, octave, thirdOctavePowers } from '../helpers/room-figures.ts';

// As reverb.test.ts and reverb-late-field.test.ts hold it to at 48 kHz, with the same tolerances.

describe.each([44100, 96000])('the reverb at %d Hz', (rate) => {
  const responses = (
    [
      ['plate', 10],
      ['room', 100],
      ['chamber', 40],
      ['hall', 100],
    ] as const
  ).map(([character, size]) => {
    const input = impulse(Math.round(2.6 * rate));
    const { left, right } = through(
      [stepOf('reverb', { mix: 100, decay: 1.5, character, size, early: 0 })],
      input,
      rate,
    );
    return { character, sides: [left, right] };
  });

  it('decays in the set time (Schroeder integration; T30 after ISO 3382-1) within one part in 20, at 1 kHz too', () => {
    for (const { character, sides } of responses)
      for (const side of sides)
        for (const tail of [side, octave(side, 1000, rate)])
          expect(Math.abs(decayTime(tail, -5, -35, rate) / 1.5 - 1), character).toBeLessThan(0.05);
  });

  it('is as dense as noise within 200 ms (Abel and Huang, 2006)', () => {
    for (const { character, sides } of responses)
      for (const side of sides)
        for (const seconds of [0.2, 0.4]) expect(echoDensity(side, seconds, rate), character).toBeGreaterThan(0.8);
  });

  it('has third octaves from 160 Hz on within 1.5 dB of each other: without damping all decay alike', () => {
    const bands = Array.from({ length: 19 }, (_, n) => 160 * 2 ** (n / 3));
    const sums = bands.map(() => 0);
    for (const { sides } of responses)
      for (const side of sides)
        thirdOctavePowers(side.subarray(Math.round(0.1 * rate)), bands, rate).forEach(
          (power, n) => (sums[n]! += power),
        );
    const levels = sums.map((sum) => 10 * Math.log10(sum));
    const mean = levels.reduce((sum, db) => sum + db, 0) / levels.length;
    for (const [n, db] of levels.entries()) expect(Math.abs(db - mean), `${bands[n]!.toFixed(0)} Hz`).toBeLessThan(1.5);
  });
});
