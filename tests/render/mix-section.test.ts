import { expect, it } from 'vitest';
import { finished } from '../../src/audio/steps.ts';
import type { PlanMixBus } from '../../src/render/plan/plan.ts';
import { mixBusSectionSteps, throughMixBus } from '../../src/render/mix.ts';
import { planned, sessionFrom } from '../helpers/sessions.ts';
import { pinkNoise, stereo } from '../helpers/signals.ts';

const RATE = 48_000;
const sound = stereo(pinkNoise(8, 1, 0.3), pinkNoise(8, 2, 0.3));
const frames = sound.channels[0]!.length;

const busOf = (...chain: readonly object[]): PlanMixBus => {
  const lines = [
    {
      ...{ id: 'l', target: { of: 'mix', what: 'trim' } },
      points: [
        { at: 0, value: -6, curve: 'linear' },
        { at: 8, value: 3 },
      ],
    },
  ];
  const session = sessionFrom({ groups: [{ id: 'band', name: 'Band' }], mixBus: { chain }, lines });
  return planned(session, { take: sound }).plan.mixBus;
};
const compressor = {
  id: 'c',
  processor: 'compressor',
  settings: { threshold: -24, ratio: 4, release: 100, lookAhead: 5 },
};

/** Greatest difference of a section of the mix from the same frames of the whole print. */
const off = (mixBus: PlanMixBus, from: number, to: number): number => {
  const whole = throughMixBus(sound, mixBus);
  const section = finished(mixBusSectionSteps(sound, mixBus, { from, to }));
  expect(section.channels[0]!.length).toBe(Math.min(to, frames) - from);
  return Math.max(
    ...section.channels.map((channel, n) => {
      const there = whole.channels[n]!.subarray(from, to);
      return channel.subarray(0, channel.length).reduce((most, x, i) => Math.max(most, Math.abs(x - there[i]!)), 0);
    }),
  );
};

it('a section of the mix is that of the print: alike to the last bit where nothing is remembered, else but for what is forgotten', () => {
  // No multiple of a control block.
  const [from, to] = [6 * RATE + 37, 7 * RATE + 11];
  expect(off(busOf(), from, to)).toBe(0);
  expect(off(busOf(compressor), 0, to)).toBe(0);
  expect(off(busOf(compressor), from, frames + 5000)).toBeLessThan(1e-6);
});
