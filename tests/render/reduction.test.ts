import { describe, expect, test } from 'vitest';
import { finished } from '../../src/audio/steps.ts';
import { levelHistogram, reductionSteps } from '../../src/render/reduction.ts';
import { stageOf } from '../../src/render/stage-input.ts';
import { processorItem } from '../helpers/chain-items.ts';
import { joined, silence, stereo } from '../helpers/signals.ts';

const SONG = { tempo: 120, meter: [4, 4] as [number, 4] };
const steady = (db: number, seconds: number): Float32Array =>
  Float32Array.from(
    { length: seconds * 48_000 },
    (_, n) => 10 ** (db / 20) * Math.sin((2 * Math.PI * 1000 * n) / 48_000),
  );
const stepOf = (processor: string, settings: Record<string, number | string | boolean>) =>
  stageOf([processorItem(processor, { settings })], processor, SONG)!.step;
/** A second at -10 dB, then one at -40 dB. */
const falling = stereo(joined(steady(-10, 1), steady(-40, 1)));
const over = (processor: string, settings: Record<string, number | string | boolean>, lead = 0) =>
  finished(reductionSteps({ sound: falling, key: null }, stepOf(processor, settings), lead))!;

describe('how far a processor turns down', () => {
  const press = { threshold: -30, ratio: 4, knee: 0, attack: 1, release: 20, detector: 'smooth peak' };

  test('is what its static curve says of a steady sound, and nothing below the threshold', () => {
    const { reductionDb, hopSeconds } = over('compressor', press);
    const at = (seconds: number): number => reductionDb[Math.round(seconds / hopSeconds)]!;
    expect(reductionDb).toHaveLength(Math.ceil(96_000 / 512));
    // 20 dB above the threshold at 4:1 are turned down by 15; the detector reads a little less than the peak of a sine.
    expect(Math.abs(at(0.9) - 15)).toBeLessThan(0.5);
    expect(at(1.9)).toBeLessThan(0.01);
  });

  test('is told in the time of what comes out, whatever the look-ahead', () => {
    const course = (lookAhead: number) => over('compressor', { ...press, lookAhead }).reductionDb;
    const fell = (points: Float32Array): number => points.findIndex((db, n) => n > 40 && db < 12);
    // The gain moves 20 ms earlier in what comes out: two points.
    expect(fell(course(0)) - fell(course(20))).toBe(2);
  });

  test('leaves out the stretch in which it settles', () => {
    expect(over('compressor', press, 48_128).reductionDb).toEqual(over('compressor', press).reductionDb.slice(94));
  });

  test.each([
    { processor: 'limiter', settings: { ceiling: -16, adapt: 0 }, loud: 6, soft: 0 },
    {
      processor: 'gate',
      settings: { threshold: -30, ratio: 100, range: 20, hysteresis: 0, release: 20 },
      loud: 0,
      soft: 20,
    },
  ])('is told of a $processor too', ({ processor, settings, loud, soft }) => {
    const { reductionDb } = over(processor, settings);
    expect(Math.abs(reductionDb[80]! - loud)).toBeLessThan(0.1);
    expect(Math.abs(reductionDb.at(-2)! - soft)).toBeLessThan(0.1);
  });

  test('does not exist for what does not turn down by level', () => {
    expect(finished(reductionSteps({ sound: falling, key: null }, stepOf('gain', {}), 0))).toBeNull();
  });
});

test('levels are counted where they stand, silence nowhere', () => {
  const sound = stereo(joined(steady(-10.5, 1), steady(-40.5, 1), silence(2)));
  const { lowDb, shares } = levelHistogram(sound, 0, [-60, 0]);
  expect(lowDb).toBe(-60);
  // A quarter of the time each; a stretch that holds the change counts for one of them.
  expect(Math.abs(shares[49]! - 0.25)).toBeLessThan(0.005);
  expect(Math.abs(shares[19]! - 0.25)).toBeLessThan(0.005);
  expect(shares.filter((share) => share > 0)).toHaveLength(2);
});
