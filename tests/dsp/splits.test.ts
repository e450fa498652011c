import { describe, expect, test } from 'vitest';
import { Chain, chainLatency, chainTail, type ChainStep, type ProcessorStep } from '../../src/dsp/core/chain.ts';
import type { Settings } from '../../src/dsp/core/parameter.ts';
import type { KeySignal } from '../../src/dsp/core/processor.ts';
import { processors } from '../../src/dsp/core/registry.ts';
import type { WetDry } from '../../src/dsp/core/wet-dry.ts';
import { firstDifference, impulse, later, noise, peakOf, run, stepOf, through, tone } from '../helpers/chains.ts';
import { singleCorners } from '../helpers/corners.ts';

// A dry share beside a processor or a part of a chain: aligned, exact where all is wet, and moved without clicks.

const half: WetDry = { wet: 0.5, law: 'linear' };
const split = (steps: readonly ProcessorStep[], wetDry?: WetDry): ChainStep => ({
  split: steps,
  ...(wetDry && { wetDry }),
});
const late = stepOf('limiter', {});
const difference = (a: KeySignal, b: KeySignal): number =>
  peakOf({ left: a.left.map((x, n) => x - b.left[n]!), right: a.right.map((x, n) => x - b.right[n]!) });

describe('all wet', () => {
  const steps = [stepOf('eq', { 'band1.on': true, 'band1.gain': 6 }), stepOf('compressor', { threshold: -30 })];

  test('a split is the same chain, to the bit', () => {
    const input = noise(5000, 1);
    expect(firstDifference(through([split(steps)], input), through(steps, input))).toBe(null);
  });

  test('a share that went back to all wet is exact again', () => {
    const input = noise(20000, 2);
    const chain = new Chain([split(steps, half)], 48000, 128);
    chain.setWetDry(0, { wet: 1, law: 'equal power' });
    const output = run(chain, input);
    const plain = through(steps, input);
    expect(firstDifference(tailOf(output, 15000), tailOf(plain, 15000))).toBe(null);
    expect(difference(output, plain)).toBeGreaterThan(0);
  });
});

const tailOf = ({ left, right }: KeySignal, from: number): KeySignal => ({
  left: left.subarray(from),
  right: right.subarray(from),
});

describe('half wet, the dry share is aligned', () => {
  // Neutral settings at every latency that a processor can have: what differs from its input is the alignment alone.
  test.each([...processors.values()].map((processor) => [processor.id, processor] as const))('%s', (id, processor) => {
    const latencyOf = (settings: Settings): number => processor.latency(stepOf(id, settings).values, 48000);
    const neutral = [{}, ...singleCorners(processor, {}).filter((s) => latencyOf(s) !== latencyOf({}))];
    for (const settings of neutral) {
      const step = stepOf(id, settings);
      const latency = chainLatency([step], 48000);
      const input = noise(latency + 3000, 3);
      for (const steps of [[{ ...step, wetDry: half }], [split([step], half)]]) {
        expect(chainLatency(steps, 48000)).toBe(latency);
        const worst = difference(through(steps, input), later(input, latency));
        expect(worst, JSON.stringify(settings)).toBeLessThan(1e-12);
      }
    }
  });

  test('behind all that is late in the split', () => {
    const steps = [stepOf('limiter'), stepOf('gain'), stepOf('limiter')];
    const latency = chainLatency(steps, 48000);
    expect(latency).toBeGreaterThan(0);
    const output = through([split(steps, { wet: 0, law: 'linear' })], impulse(latency + 500, 100));
    expect(output.left.indexOf(1)).toBe(100 + latency);
    expect(new Chain([split(steps)], 48000, 128).latency).toBe(latency);
  });
});

test('what listens to the key in a split hears it when it hears the sound', () => {
  const listening = [...processors.values()].flatMap((processor) => {
    const all = singleCorners(processor, processor.start).map((settings) => stepOf(processor.id, settings));
    const step = all.find(({ values }) => processor.listensToKey?.(values));
    return step ? [step] : [];
  });
  expect(listening.length).toBeGreaterThan(0);
  const input = noise(6000, 4);
  const key = noise(6000, 5);
  for (const step of listening) {
    const plain = through([late, late, step], input, 48000, key);
    const nested = through([late, split([late, step])], input, 48000, key);
    expect(firstDifference(nested, plain), step.processor).toBe(null);
    expect(firstDifference(through([late, late, step], input, 48000, null), plain), step.processor).not.toBe(null);
  }
});

test('a tail is told where it is heard', () => {
  const reverb = stepOf('reverb', { mix: 50 });
  expect(chainTail([split([reverb], half)], 48000)).toBe(chainTail([reverb], 48000));
  expect(chainTail([split([reverb], { wet: 0, law: 'linear' })], 48000)).toBe(0);
});

test('block lengths do not matter, and a reset is as new, with shares on the way', () => {
  const made = (): Chain =>
    new Chain([split([late, { ...stepOf('saturator', { drive: 12 }), wetDry: half }], half)], 48000, 1000);
  const played = (chain: Chain, blocks: readonly number[]): KeySignal => {
    const input = noise(9000, 6);
    const first = run(chain, { left: input.left.slice(0, 3000), right: input.right.slice(0, 3000) }, blocks);
    chain.setWetDry(0, { wet: 1, law: 'linear' });
    chain.setWetDry([0, 1], { wet: 0.2, law: 'equal power' });
    const rest = run(chain, tailOf(input, 3000), blocks);
    return {
      left: Float64Array.of(...first.left, ...rest.left),
      right: Float64Array.of(...first.right, ...rest.right),
    };
  };
  const whole = played(made(), [1000]);
  for (const blocks of [[1], [7, 100], [64]]) expect(firstDifference(played(made(), blocks), whole)).toBe(null);
  const chain = made();
  played(chain, [128]);
  chain.setWetDry(0, half);
  chain.setWetDry([0, 1], half);
  chain.reset();
  expect(firstDifference(played(chain, [128]), whole)).toBe(null);
});

test('moves of a share do not click, not even away from all wet behind a late processor', () => {
  // What is loudest in the second differences of a sine that fades: a click is far above.
  const input = tone(200, 24000, 0.5);
  const bend = ({ left }: KeySignal): number => {
    let worst = 0;
    for (let n = 2; n < left.length; n++) worst = Math.max(worst, Math.abs(left[n]! - 2 * left[n - 1]! + left[n - 2]!));
    return worst;
  };
  const latency = chainLatency([late], 48000);
  const still = bend(tailOf(through([late], input), latency + 2));
  for (const [from, to] of [
    [1, 0],
    [1, 0.5],
    [0.2, 1],
  ] as const) {
    const inverted = [late, stepOf('gain', { polarity: 'inverted' })];
    const chain = new Chain([split(inverted, { wet: from, law: 'linear' })], 48000, 128);
    const before = run(chain, { left: input.left.slice(0, 6000), right: input.right.slice(0, 6000) });
    chain.setWetDry(0, { wet: to, law: 'linear' });
    const after = run(chain, tailOf(input, 6000));
    const whole = { left: Float64Array.of(...before.left, ...after.left), right: after.right };
    // Ramps are linear over a control block: their bends add, at a hundredth of the sine's swing.
    expect(bend(tailOf(whole, latency + 2)), `${from} to ${to}`).toBeLessThan(still + 0.005);
  }
});
