import { describe, expect, test } from 'vitest';
import { Chain, type ChainStep } from '../../src/dsp/core/chain.ts';
import type { KeySignal } from '../../src/dsp/core/processor.ts';
import { firstDifference, noise, peakOf, run, stepOf } from '../helpers/chains.ts';

// Behind the end of all sound, a stage stops when it has died away, and nothing that could be heard is lost.

const END = 6000;
const FRAMES = 260_000;
/** Where stages stop, with room for what those behind raise it by. */
const UNHEARD = 1e-9;

const ending = (): KeySignal => {
  const { left, right } = noise(END, 4, 0.5);
  const padded = (side: Float64Array): Float64Array => {
    const whole = new Float64Array(FRAMES);
    whole.set(side);
    return whole;
  };
  return { left: padded(left), right: padded(right) };
};
const input = ending();

const played = (steps: readonly ChainStep[], soundEnd: number, blocks: readonly number[] = [128]): KeySignal =>
  run(new Chain(steps, 48000, 1000, soundEnd), input, blocks);

const difference = (a: KeySignal, b: KeySignal): number =>
  peakOf({ left: a.left.map((x, n) => x - b.left[n]!), right: a.right.map((x, n) => x - b.right[n]!) });

/** Frame of the last sample that is not 0. */
const lastOf = ({ left }: KeySignal): number => left.findLastIndex((x) => x !== 0);

const low = stepOf('eq', { 'band1.on': true, 'band1.shape': 'low cut', 'band1.frequency': 50 });
const echo = stepOf('delay', { time: 2000, feedback: 0, mix: 100 });
const room = stepOf('reverb', { decay: 0.4, mix: 50 });
const late = stepOf('compressor', { lookAhead: 20, threshold: -30, ratio: 4, detector: 'peak' });
const chains: readonly (readonly [string, readonly ChainStep[]])[] = [
  ['a cut', [low]],
  ['a room between cuts', [low, room, late, low]],
  ['echoes one behind the other, with pauses between them', [echo, low, echo, late]],
  ['a split beside the dry sound', [{ split: [echo, low], wetDry: { wet: 0.5, law: 'linear' } }, room]],
];

describe.each(chains)('%s', (_name, steps) => {
  const stopping = played(steps, END);

  test('sounds as if it ran for good', () => {
    const whole = played(steps, Infinity);
    expect(difference(stopping, whole)).toBeLessThan(UNHEARD);
    expect(peakOf(whole, END)).toBeGreaterThan(1e-3);
  });

  test('stops at the same sample whatever the block length', () => {
    for (const blocks of [[7], [1000], [3, 61, 200]])
      expect(firstDifference(played(steps, END, blocks), stopping)).toBe(null);
  });
});

test('what rings on unheard is not computed', () => {
  const steps = [low, room, late, low];
  expect(lastOf(played(steps, END))).toBeLessThan(lastOf(played(steps, Infinity)));
});

test('sound is not stopped before the end that was told, however long it pauses', () => {
  const chain = new Chain([low, late], 48000, 128, FRAMES + END);
  const silence = { left: new Float64Array(FRAMES), right: new Float64Array(FRAMES) };
  run(chain, silence);
  expect(peakOf(run(chain, noise(END, 4, 0.5)))).toBeGreaterThan(0.1);
});

test('settings that are moved keep it running, and a reset lets it stop and begin again', () => {
  const chain = new Chain([low], 48000, 128, END);
  const first = run(chain, input);
  chain.reset();
  expect(firstDifference(run(chain, input), first)).toBe(null);
  chain.reset();
  chain.set(0, low.values);
  run(chain, input);
  expect(peakOf(run(chain, noise(END, 4, 0.5)))).toBeGreaterThan(0.1);
});
