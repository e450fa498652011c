import { describe, expect, test } from 'vitest';
import { Chain, chainLatency, chainListensToKey, chainTail } from '../../src/dsp/core/chain.ts';
import { gainOf } from '../../src/audio/decibels.ts';
import { both, firstDifference, impulse, later, noise, run, steady, stepOf, through } from '../helpers/chains.ts';
import { limitingAt } from '../helpers/limiting.ts';

const delayed = (ms: number) => stepOf('compressor', { lookAhead: ms });
/** Silences its input sharply while the key is loud. */
const ducker = stepOf('compressor', { ...limitingAt(-60), sideChain: 'external' });

describe('a chain', () => {
  test('with nothing in it is a wire', () => {
    const input = noise(1000, 1);
    expect(firstDifference(through([], input), input)).toBe(null);
  });

  test('runs its processors in order: cutting before a limit is not cutting after it', () => {
    const cut = stepOf('gain', { gain: -20 });
    const limit = stepOf('compressor', limitingAt(-20));
    const input = steady(1, 4800);
    expect(through([cut, limit], input).left.at(-1)).toBeCloseTo(gainOf(-20), 9);
    expect(through([limit, cut], input).left.at(-1)).toBeCloseTo(gainOf(-40), 9);
  });

  test('is as late and sounds on as long as its processors together', () => {
    const low = stepOf('eq', { 'band1.on': true, 'band1.shape': 'low cut', 'band1.frequency': 50 });
    const steps = [delayed(1), low, delayed(2.5), low];
    expect(chainLatency(steps, 48000)).toBe(48 + 120);
    expect(chainLatency(steps, 96000)).toBe(96 + 240);
    expect(new Chain(steps, 48000, 128).latency).toBe(168);
    expect(chainTail(steps, 48000)).toBe(2 * chainTail([low], 48000));
    expect(chainTail([low], 48000)).toBeGreaterThan(0);
    const output = through([delayed(1), delayed(2.5)], impulse(1000, 10));
    expect(output.left.indexOf(1)).toBe(178);
  });

  test('refuses a processor that does not exist', () => {
    expect(() => new Chain([{ processor: 'nothing', values: {} }], 48000, 128)).toThrow(RangeError);
  });

  test('takes new values while it runs and lands on them exactly', () => {
    const chain = new Chain([delayed(1), stepOf('gain', { gain: 0 })], 48000, 128);
    const input = steady(0.5, 24000);
    run(chain, input);
    chain.set(1, stepOf('gain', { gain: -6 }).values);
    const { left } = run(chain, input);
    expect(left[0]).toBe(0.5);
    expect(left.at(-1)).toBe(0.5 * gainOf(-6));
  });
});

describe('the key of a chain', () => {
  test('is heard only where a processor listens', () => {
    expect(chainListensToKey([delayed(1)])).toBe(false);
    expect(chainListensToKey([delayed(1), ducker])).toBe(true);
    const input = noise(2000, 4);
    const key = noise(2000, 5);
    expect(firstDifference(through([stepOf('gain')], input, 48000, key), input)).toBe(null);
  });

  test('meets the signal on the same sample behind any latency', () => {
    // Input and key begin together at frame 500. Were the key early the ducker would already be open again or closed
    // before the sound; were it late, the first samples of the sound would pass.
    const begin = (frame: number, frames: number) => both(new Float64Array(frames).fill(1, frame));
    const alone = through([ducker], begin(500, 4000), 48000, begin(500, 4000));
    for (const ms of [0, 0.5, 3, 20]) {
      const chain = new Chain([delayed(ms), ducker], 48000, 128);
      const output = run(chain, begin(500, 4000), [128], begin(500, 4000));
      expect(chain.latency).toBe(48 * ms);
      expect(firstDifference(output, later(alone, chain.latency))).toBe(null);
    }
  });

  test('is held back for each listener by what lies before it alone', () => {
    const begin = both(new Float64Array(6000).fill(1, 500));
    const one = through([ducker, ducker], begin, 48000, begin);
    const spread = through([delayed(1), ducker, delayed(2), ducker], begin, 48000, begin);
    expect(firstDifference(spread, later(one, 144))).toBe(null);
  });

  test('does not depend on the block length', () => {
    const input = noise(5000, 6);
    const key = noise(5000, 7);
    const steps = [delayed(3), ducker, stepOf('eq', { 'band1.on': true, 'band1.gain': 6 }), ducker];
    const whole = run(new Chain(steps, 48000, 5000), input, [5000], key);
    for (const blocks of [[1], [7], [64], [100], [128, 3]])
      expect(firstDifference(run(new Chain(steps, 48000, 128), input, blocks, key), whole)).toBe(null);
  });

  test('is forgotten by a reset', () => {
    const chain = new Chain([delayed(20), ducker], 48000, 128);
    const input = noise(3000, 8);
    const key = noise(3000, 9);
    const first = run(chain, input, [128], key);
    chain.reset();
    expect(firstDifference(run(chain, input, [128], key), first)).toBe(null);
  });
});
