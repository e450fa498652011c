import { describe, expect, it } from 'vitest';
import { firstOrderMatchedLowPass, firstOrderPower } from '../../src/dsp/filters/first-order.ts';

const RATES = [44100, 48000, 88200, 96000, 176400, 192000];

describe('first-order low-pass that is matched', () => {
  it.each([12000, 22000, 40000])('has the gain of one pole at %d Hz up to 18 kHz, at any rate', (corner) => {
    for (const rate of RATES) {
      const filter = firstOrderMatchedLowPass(corner, rate);
      for (let hz = 0; hz <= 18000; hz += 250) {
        const offDb = 10 * Math.log10(firstOrderPower(filter, hz, rate) * (1 + (hz / corner) ** 2));
        expect(Math.abs(offDb), `${hz} Hz at ${rate}`).toBeLessThan(0.2);
      }
    }
  });

  it('is stable, and so is its inverse', () => {
    for (const rate of RATES) {
      for (const corner of [12000, 22000, 40000]) {
        const [b0, b1, a1] = firstOrderMatchedLowPass(corner, rate);
        expect(Math.abs(a1)).toBeLessThan(1);
        expect(Math.abs(b1 / b0)).toBeLessThan(1);
      }
    }
  });
});
