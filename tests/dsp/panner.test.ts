import fc from 'fast-check';
import { expect, test } from 'vitest';
import type { Settings } from '../../src/dsp/core/parameter.ts';
import { processor } from '../../src/dsp/processors/panner.ts';
import { both, noise, stepOf, through, tone } from '../helpers/chains.ts';
import { levelAt } from '../helpers/tones.ts';

const panned = (settings: Settings, input: Parameters<typeof through>[1]) =>
  through([stepOf('panner', settings)], input);

const power = (samples: Float64Array): number => samples.reduce((sum, x) => sum + x * x, 0);
const percent = (min: number, max: number) => fc.double({ min, max, noNaN: true });
const mixed = noise(2000, 1);
const same = both(noise(2000, 2).left);

test('a mono sound keeps its power wherever it is panned, by the mono law', () => {
  fc.assert(
    fc.property(percent(-100, 100), (pan) => {
      const { left, right } = panned({ pan, law: 'mono' }, same);
      expect(power(left) + power(right)).toBeCloseTo(2 * power(same.left), 9);
    }),
    { numRuns: 20 },
  );
});

test('left and right are treated as mirrors: panning the swapped sound the other way swaps the result', () => {
  const swapped = { left: mixed.right, right: mixed.left };
  fc.assert(
    fc.property(
      percent(-100, 100),
      percent(-100, 100),
      percent(0, 200),
      fc.constantFrom('stereo', 'mono'),
      (pan, balance, width, law) => {
        const a = panned({ pan, balance, width, law }, mixed);
        const b = panned({ pan: -pan, balance: -balance, width, law }, swapped);
        a.left.forEach((x, n) => expect(b.right[n]).toBeCloseTo(x, 12));
        a.right.forEach((x, n) => expect(b.left[n]).toBeCloseTo(x, 12));
      },
    ),
    { numRuns: 20 },
  );
});

test('width keeps the mono fold, 0 % is mono, 200 % doubles the difference of the sides', () => {
  for (const width of [0, 50, 100, 200]) {
    const { left, right } = panned({ width }, mixed);
    mixed.left.forEach((x, n) => {
      expect(left[n]! + right[n]!).toBeCloseTo(x + mixed.right[n]!, 12);
      expect(left[n]! - right[n]!).toBeCloseTo((width / 100) * (x - mixed.right[n]!), 12);
    });
  }
});

test('balance leaves the near side as it is and takes the far one away: 3 dB at half way, all at the end', () => {
  const half = panned({ balance: 50 }, mixed);
  expect(half.right).toEqual(mixed.right);
  mixed.left.forEach((x, n) => expect(half.left[n]).toBeCloseTo(x * Math.SQRT1_2, 12));
  const whole = panned({ balance: -100 }, mixed);
  expect(whole.left).toEqual(mixed.left);
  expect(10 * Math.log10(power(whole.right) / power(mixed.right))).toBeLessThan(-300);
});

test('swapped sides are the same samples on the other side', () => {
  const { left, right } = panned({ swap: true }, mixed);
  expect(left).toEqual(mixed.right);
  expect(right).toEqual(mixed.left);
});

test('a sound panned hard to one side has its lows in the middle below the corner', () => {
  const settings = { pan: -100, law: 'mono', monoBelow: 200 };
  const levels = (hz: number) => {
    const { left, right } = panned(settings, tone(hz, 48000));
    return [levelAt(left.subarray(24000), hz), levelAt(right.subarray(24000), hz)] as const;
  };
  const hard = 10 * Math.log10(2);
  const [lowLeft, lowRight] = levels(40);
  // Both sides share the fold, 6 dB down, but for the side that is 56 dB down so far below the corner.
  expect(Math.abs(lowLeft - (hard - 20 * Math.log10(2)))).toBeLessThan(0.02);
  expect(Math.abs(lowRight - (hard - 20 * Math.log10(2)))).toBeLessThan(0.02);
  const [highLeft, highRight] = levels(4000);
  expect(highLeft).toBeCloseTo(hard, 4);
  expect(highRight).toBeLessThan(-90);
});

test('the picture is the gain of the side as measured', () => {
  const settings = { width: 150, monoBelow: 300 };
  for (const [hz, db] of processor.picture.points(stepOf('panner', settings).values, 48000, 12)) {
    if (db <= -24) continue;
    // Whole cycles in the half second that is measured: up to 1 Hz beside, which is 0.6 dB on the slope at 60 Hz.
    const at = 2 * Math.round(hz / 2);
    const input = tone(at, 48000);
    const { left } = panned(settings, { left: input.left, right: input.right.map((x) => -x) });
    expect(Math.abs(levelAt(left.subarray(24000), at) - db)).toBeLessThan(0.6);
  }
});
