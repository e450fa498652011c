import { expect, test } from 'vitest';
import { framesOf } from '../../src/audio/audio.ts';
import { renderChain } from '../../src/render/chain-render.ts';
import { stepsOf } from '../../src/session/values.ts';
import { processorItem } from '../helpers/chain-items.ts';
import { mono, pinkNoise, stereo } from '../helpers/signals.ts';

const steps = (processor: string, settings: Record<string, number | string | boolean>) =>
  stepsOf([processorItem(processor, { settings })], 120, [4, 4]);

const noise = stereo(pinkNoise(0.5, 1), pinkNoise(0.5, 2));

test('an empty chain is a wire: the same samples, the same length', () => {
  expect(renderChain(noise, [], null)).toEqual(noise);
});

test('latency is taken off, so that a copy through look-ahead lies exactly on the dry', () => {
  const beside = renderChain(noise, steps('compressor', { lookAhead: 11 }), 0);
  expect(beside.channels[0]!.subarray(0, framesOf(noise))).toEqual(noise.channels[0]!.map((x) => 2 * x));
});

test('the tail is kept, but not the silence after it', () => {
  const click = new Float32Array(4800);
  click[4799] = 0.5;
  const once = renderChain(mono(click), steps('delay', { time: 100, feedback: 0, mix: 100 }), null);
  expect(framesOf(once)).toBe(4799 + 4800 + 1);
});

test('one channel stays one as long as both sides are the same', () => {
  const voice = mono(pinkNoise(0.2, 3));
  expect(renderChain(voice, steps('gain', { gain: -6 }), -6).channels).toHaveLength(1);
  expect(renderChain(voice, steps('gain', { polarity: 'left inverted' }), null).channels).toHaveLength(2);
  expect(renderChain(stereo(voice.channels[0]!), steps('gain', { gain: -6 }), null).channels).toHaveLength(2);
});
