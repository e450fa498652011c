import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Audio } from '../../../src/audio/audio.ts';
import { gainOf } from '../../../src/audio/decibels.ts';
import {
  blockPowers,
  integratedFromBlocks,
  loudnessOf,
  loudnessRangeFromShortTerm,
  lufsOf,
  momentaryPowers,
  shortTermFromBlocks,
} from '../../../src/measure/loudness/loudness.ts';
import { subBlockStart, weightedEnergyOf } from '../../../src/measure/loudness/weighted-energy.ts';
import { joined, mono, pinkNoise, scaled, silence, sine, stereo, whiteNoise } from '../../helpers/signals.ts';

const loudness = (audio: Audio) => loudnessOf(weightedEnergyOf(audio));
const programme = joined(
  whiteNoise(4, 1, 0.02),
  sine({ hz: 220, seconds: 5, db: -9 }),
  whiteNoise(5, 2, 0.1),
  sine({ hz: 3000, seconds: 2, db: -30 }),
);
const other = whiteNoise(16, 3, 0.05);

describe('loudness of a whole sound', () => {
  test('a gain moves all three loudnesses by exactly itself and leaves the range', () => {
    const before = loudness(stereo(programme, other));
    fc.assert(
      fc.property(fc.double({ min: -20, max: 20, noNaN: true }), (db) => {
        const gain = gainOf(db);
        const after = loudness(stereo(scaled(programme, gain), scaled(other, gain)));
        // 1e-5: samples are rounded to single precision again.
        expect(after.integrated! - before.integrated!).toBeCloseTo(db, 5);
        expect(after.maxMomentary! - before.maxMomentary!).toBeCloseTo(db, 5);
        expect(after.maxShortTerm! - before.maxShortTerm!).toBeCloseTo(db, 5);
        expect(after.range!).toBeCloseTo(before.range!, 5);
      }),
      { numRuns: 8 },
    );
  });

  test('swapping channels or inverting one changes nothing', () => {
    const reading = loudness(stereo(programme, other));
    expect(loudness(stereo(other, programme))).toEqual(reading);
    expect(loudness(stereo(programme, scaled(other, -1)))).toEqual(reading);
  });

  test('the same sound in both channels is 3.01 LU louder than in one', () => {
    const one = loudness(mono(programme));
    expect(loudness(stereo(programme)).integrated! - one.integrated!).toBeCloseTo(10 * Math.log10(2), 9);
  });

  test('silence of any whole tenth of a second in front moves no maximum and no range', () => {
    const reading = loudness(mono(programme));
    for (const seconds of [0.1, 0.7, 3]) {
      const later = loudness(mono(joined(silence(seconds), programme)));
      expect(later.maxMomentary!).toBeCloseTo(reading.maxMomentary!, 9);
      expect(later.maxShortTerm!).toBeCloseTo(reading.maxShortTerm!, 9);
    }
  });

  // The numerator of the low cut is not divided by its a0 at any rate (see k-weighting.ts): what that makes, and no
  // more, sets readings at different rates apart.
  test('a loudness read at another sample rate differs by the undivided low cut alone', () => {
    const read = (rate: number): number =>
      loudness(mono(sine({ hz: 100, seconds: 4, db: -20, rate }), rate)).integrated!;
    const a0 = (rate: number): number => {
      const k = Math.tan((Math.PI * 38.13547087602444) / rate);
      return 1 + k / 0.5003270373238773 + k * k;
    };
    for (const rate of [8000, 11025, 22050, 32000, 44100, 88200, 96000, 192000]) {
      const undivided = 20 * Math.log10(a0(rate) / a0(48000));
      expect(Math.abs(read(rate) - undivided - read(48000))).toBeLessThan(0.001);
    }
  });

  test('a file shorter than a window has no loudness of that window, one of just its length has', () => {
    const tone = sine({ hz: 1000, seconds: 4, db: -20 });
    expect(loudness(mono(tone.slice(0, 19199)))).toEqual({
      integrated: null,
      range: null,
      maxMomentary: null,
      maxShortTerm: null,
    });
    const momentary = loudness(mono(tone.slice(0, 19200)));
    expect(momentary.integrated).toBeCloseTo(momentary.maxMomentary!, 9);
    expect(loudness(mono(tone.slice(0, 143999))).maxShortTerm).toBeNull();
    expect(loudness(mono(tone.slice(0, 144000))).maxShortTerm).not.toBeNull();
  });

  test('a quiet tail behind a loud passage reads as quiet as it is, not as what a running sum has left', () => {
    const tail = sine({ hz: 1000, seconds: 2, db: -80 });
    const powers = momentaryPowers(weightedEnergyOf(mono(joined(sine({ hz: 1000, seconds: 2 }), tail))));
    const alone = momentaryPowers(weightedEnergyOf(mono(tail)));
    expect(lufsOf(powers.at(-1)!)).toBeCloseTo(lufsOf(alone.at(-1)!), 4);
  });
});

describe('10 ms sub-blocks', () => {
  test('tile the sound without gap or drift at any rate', () => {
    fc.assert(
      fc.property(fc.integer({ min: 4000, max: 192000 }), fc.integer({ min: 1, max: 2000 }), (rate, index) => {
        const start = subBlockStart(index, rate);
        expect(Math.abs(start - (index * rate) / 100)).toBeLessThanOrEqual(0.5);
        expect(subBlockStart(100 * index, rate)).toBe(index * rate);
      }),
    );
  });

  test('hold all the energy of the sound between them, the last part too', () => {
    for (const [rate, frames] of [
      [44100, 30001],
      [11025, 11024],
      [48000, 479],
      [22050, 221],
    ] as const) {
      const noise = whiteNoise(frames / rate, 5, 0.1, rate);
      const { channels, cross, whole } = weightedEnergyOf(stereo(noise, noise, rate));
      expect(whole).toBe(Math.floor((frames * 100) / rate));
      const total = channels[0]!.reduce((sum, x) => sum + x, 0);
      expect(cross!.reduce((sum, x) => sum + x, 0)).toBeCloseTo(total, 9);
      const longer = weightedEnergyOf(mono(joined(noise, silence(1, rate)), rate)).channels[0]!;
      // What follows is the tail of the weighting filter: little, and nothing missing before it.
      const withTail = longer.reduce((sum, x) => sum + x, 0);
      expect(total).toBeLessThanOrEqual(withTail);
      expect(total).toBeGreaterThan(0.97 * withTail);
    }
  });
});

const powers = fc
  .array(fc.double({ min: 1e-9, max: 2, noNaN: true }), { minLength: 30, maxLength: 120 })
  .map((list) => Float64Array.from(list));

describe('loudness from powers', () => {
  test('lies between the lowest and the highest gating block', () => {
    fc.assert(
      fc.property(powers, (blocks) => {
        const reading = integratedFromBlocks(blocks);
        if (reading === null) return;
        expect(reading).toBeLessThanOrEqual(lufsOf(Math.max(...blocks)) + 1e-9);
        expect(reading).toBeGreaterThanOrEqual(lufsOf(Math.min(...blocks)) - 1e-9);
      }),
    );
  });

  test('blocks too quiet to pass the gates change nothing at the end but the blocks they share', () => {
    const blocks = new Float64Array(100).fill(0.01);
    const quiet = new Float64Array(50).fill(1e-12);
    const reading = integratedFromBlocks(Float64Array.of(...blocks, ...quiet))!;
    // 97 full gating blocks, then a three-quarter, half and quarter one.
    expect(reading).toBeCloseTo(lufsOf(0.01 * ((97 + 1.5) / 100)), 6);
  });

  test('of less than four blocks, of silence and of what lies below the gate is none', () => {
    expect(integratedFromBlocks(new Float64Array(3).fill(0.1))).toBeNull();
    expect(integratedFromBlocks(new Float64Array(40))).toBeNull();
    expect(integratedFromBlocks(new Float64Array(40).fill(1e-8))).toBeNull();
  });

  test('the range is no less than 0, does not depend on order or level, and on repetition only by rounding', () => {
    fc.assert(
      fc.property(powers, (levels) => {
        const range = loudnessRangeFromShortTerm(levels);
        if (range === null) return;
        expect(range).toBeGreaterThanOrEqual(0);
        expect(loudnessRangeFromShortTerm(levels.toReversed())).toBeCloseTo(range, 9);
        const louder = loudnessRangeFromShortTerm(levels.map((power) => 10 * power).filter((power) => power >= 1e-6));
        const asLoud = loudnessRangeFromShortTerm(levels.filter((power) => 10 * power >= 1e-6));
        if (asLoud !== null && levels.every((power) => power >= 1.2e-7)) expect(louder).toBeCloseTo(asLoud, 9);
      }),
    );
    expect(loudnessRangeFromShortTerm(new Float64Array(0))).toBeNull();
    expect(loudnessRangeFromShortTerm(new Float64Array(10))).toBeNull();
  });

  test('powers of 100 ms blocks lead to the same readings as the sound they come from', () => {
    const energy = weightedEnergyOf(mono(pinkNoise(10, 7)));
    const blocks = blockPowers(energy);
    expect(integratedFromBlocks(blocks)).toBe(loudnessOf(energy).integrated);
    expect(loudnessRangeFromShortTerm(shortTermFromBlocks(blocks))).toBe(loudnessOf(energy).range);
  });
});
