import { describe, expect, test } from 'vitest';
import { finished } from '../../src/audio/steps.ts';
import { measure } from '../../src/measure/measure.ts';
import { renderDirect } from '../../src/render/direct.ts';
import { matchingMakeUpSteps } from '../../src/render/fit/match-make-up.ts';
import { sumPaths, gainsOf, throughMixBus } from '../../src/render/mix.ts';
import {
  arrivalSteps,
  feedsOf,
  mixBusFeeds,
  stageInputSteps,
  stageOf,
  type StageInput,
} from '../../src/render/stage-input.ts';
import { StripCache } from '../../src/render/strip-cache.ts';
import { setMakeUp } from '../../src/session/chain/chain-edits.ts';
import type { Session } from '../../src/session/schema.ts';
import { planned, sessionFrom } from '../helpers/sessions.ts';
import { mono, pinkNoise, stereo, whiteNoise } from '../helpers/signals.ts';

const item = (processor: string, settings: Record<string, number | string | boolean> = {}, more = {}) => ({
  id: processor,
  processor,
  settings,
  ...more,
});
const late = item('limiter', { ceiling: -12, release: 20, adapt: 0 });
const split = {
  id: 'split',
  mix: 60,
  split: [item('gain', { gain: 6 }), item('gate', { threshold: -30, lookAhead: 3 })],
};
const target = item('compressor', { threshold: -30, ratio: 4, lookAhead: 5 });

/** Two tracks, one of them late by its own chain, into a bus whose chain stands for what a test is about; a key on it. */
const withChain = (chain: unknown[]): Session =>
  sessionFrom({
    tracks: [
      { id: 'take', name: 'take', file: 'take.wav', group: 'band', pan: 0.4, chain: [late] },
      { id: 'other', name: 'other', file: 'other.wav', group: 'band', offsetSeconds: 0.1 },
      { id: 'kick', name: 'kick', file: 'kick.wav', group: 'low' },
    ],
    groups: [
      { id: 'band', name: 'band', chain: [late], sends: [{ to: 'beside', levelDb: -3 }] },
      { id: 'low', name: 'low', sends: [{ to: 'beside' }] },
    ],
    buses: [{ id: 'beside', name: 'beside', chain, key: 'kick' }],
  });

const sounds = {
  take: stereo(whiteNoise(0.6, 1), whiteNoise(0.6, 2)),
  other: mono(pinkNoise(0.5, 3).slice(0, 24_000)),
  kick: mono(pinkNoise(0.5, 4).slice(0, 20_000)),
};
const RANGE = { from: 0, to: 36_000 };

const rendered = async (session: Session) => {
  const { plan, sources } = planned(session, sounds);
  const cache = new StripCache();
  const paths = await renderDirect(plan, sources, { cache });
  return { plan, sources, cache, paths };
};

/** What reaches a processor of the bus. */
const inputOf = async (chain: unknown[], id: string, range = RANGE): Promise<StageInput> => {
  const session = withChain(chain);
  const { plan, sources, cache } = await rendered(session);
  const strip = plan.strips.find((each) => each.id === 'beside')!;
  const feeds = feedsOf(plan, strip, sources, cache)!;
  const stage = stageOf(session.buses[0]!.chain, id, session)!;
  return finished(stageInputSteps(finished(arrivalSteps(feeds, range)), stage));
};

/** The bus as it comes out when its chain ends there. */
const outOf = async (chain: unknown[]) => (await rendered(withChain(chain))).paths.get('beside')!;

const worst = (a: Float32Array, b: Float32Array): number =>
  a.reduce((most, x, n) => Math.max(most, Math.abs(x - b[n]!)), 0);

describe('what reaches a processor', () => {
  test.each([
    { where: 'at the head of a chain', before: [], chain: [target] },
    { where: 'behind late ones and a split', before: [late, split], chain: [late, split, target] },
    {
      where: 'behind one that listens to the key',
      before: [late, item('gate', { threshold: -20, ratio: 10, sideChain: 'external' })],
      chain: [late, item('gate', { threshold: -20, ratio: 10, sideChain: 'external' }), target],
    },
    {
      where: 'in a split, behind others of it',
      before: [late, item('gain', { gain: -6 })],
      chain: [late, { id: 'split', mix: 30, split: [item('gain', { gain: -6 }), target, item('widener')] }],
    },
  ])('is what the chain gives when it ends in front of it: $where', async ({ before, chain }) => {
    const input = await inputOf(chain, 'compressor');
    const out = await outOf(before);
    for (const side of [0, 1]) {
      const expected = out.channels[side]!.subarray(0, RANGE.to);
      expect(expected.some((x) => Math.abs(x) > 0.01)).toBe(true);
      // The sum on its way is kept in single precision.
      expect(worst(input.sound.channels[side]!, expected)).toBeLessThan(1e-6);
    }
  });

  test('over a stretch is that stretch of the whole, the key too', async () => {
    const chain = [late, item('compressor', { threshold: -30, ratio: 4, sideChain: 'external' })];
    const whole = await inputOf(chain, 'compressor');
    const part = await inputOf(chain, 'compressor', { from: 6000, to: 30_000 });
    expect(worst(part.key!.channels[0]!, whole.key!.channels[0]!.subarray(6000, 30_000))).toBe(0);
    expect(whole.key!.channels[0]!.subarray(0, 20_000)).toEqual(sounds.kick.channels[0]);
    // A quarter of a second is twelve times the limiter's release: exp(-12) of what it began with is left.
    const settled = part.sound.channels[0]!.subarray(12_000, 20_000);
    expect(worst(settled, whole.sound.channels[0]!.subarray(18_000, 26_000))).toBeLessThan(1e-3);
  });

  test('on the mix bus is the trimmed sum', async () => {
    const session = { ...withChain([]), mixBus: { trimDb: -6, chain: [] } };
    const { plan, paths } = await rendered(session);
    const { sound } = finished(arrivalSteps(mixBusFeeds(plan, paths), RANGE));
    const sum = throughMixBus(sumPaths(paths, gainsOf(plan)), plan.mixBus);
    expect(worst(sound.channels[1]!, sum.channels[1]!.subarray(0, RANGE.to))).toBeLessThan(1e-6);
  });

  test('is not known while what feeds it is not rendered', () => {
    const { plan, sources } = planned(withChain([target]), sounds);
    const strip = plan.strips.find(({ id }) => id === 'beside')!;
    expect(feedsOf(plan, strip, sources, new StripCache())).toBeNull();
  });
});

test('a make-up matched in its chain gives out the loudness that comes in, with a key too', async () => {
  const keyed = item('compressor', { threshold: -40, ratio: 6, sideChain: 'external' });
  const session = withChain([late, keyed]);
  const loudness = (audio: StageInput['sound']): number | null => measure(audio).integratedLufs;
  const input = await inputOf([late, keyed], 'compressor');
  const [, compressor] = session.buses[0]!.chain as [unknown, Parameters<typeof matchingMakeUpSteps>[1]];
  const makeUp = finished(matchingMakeUpSteps(input, compressor, RANGE, session, loudness))!;
  expect(makeUp).toBeGreaterThan(1);
  const { paths } = await rendered(setMakeUp(session, 'beside', 'compressor', makeUp));
  const out = paths.get('beside')!;
  const cut = { ...out, channels: out.channels.map((channel) => channel.subarray(0, RANGE.to)) };
  expect(Math.abs(loudness(cut)! - loudness(input.sound)!)).toBeLessThan(0.02);
});
