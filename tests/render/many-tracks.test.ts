import { expect, test } from 'vitest';
import { makePlan } from '../../src/render/plan/make-plan.ts';
import { originsOf } from '../../src/render/plan/origins.ts';
import { problemsOf } from '../../src/session/read/parse.ts';
import { soloed } from '../../src/session/solo.ts';
import type { Session } from '../../src/session/schema.ts';
import { sessionFrom } from '../helpers/sessions.ts';

const eq = [{ processor: 'eq', settings: { 'band1.on': true } }];
const numbers = (count: number): number[] => Array.from({ length: count }, (_, n) => n);

/** So many tracks in so many groups, all feeding all of so many buses, of which each feeds the next. */
const large = (tracks: number, groups: number, buses: number): Session => {
  const sends = numbers(buses).map((n) => ({
    to: `bus-${n}`,
    levelDb: -12,
    tap: n % 2 === 0 ? 'pre-fader' : 'post-fader',
  }));
  return sessionFrom({
    tracks: numbers(tracks).map((n) => ({
      ...{
        id: `track-${n}`,
        name: `T${n}`,
        file: `${n}.wav`,
        group: `group-${n % groups}`,
        gainDb: -6,
        chain: eq,
        sends,
      },
    })),
    groups: numbers(groups).map((n) => ({ id: `group-${n}`, name: `G${n}`, chain: eq, sends })),
    buses: numbers(buses).map((n) => ({
      ...{ id: `bus-${n}`, name: `B${n}`, chain: eq, key: `track-${n}` },
      sends: n + 1 < buses ? [{ to: `bus-${n + 1}` }] : [],
    })),
  });
};

// Tracks with a chain of their own: once at their level, and once more for sends that are taken before it.
test.each([
  [64, 16, 16],
  [256, 32, 32],
])('%i tracks in %i groups and %i buses are checked, planned and soloed', (tracks, groups, buses) => {
  const session = large(tracks, groups, buses);
  expect(problemsOf(JSON.parse(JSON.stringify(session)))).toEqual([]);
  const facts = new Map(session.tracks.map(({ id }) => [id, { frames: 48_000, channels: 2, hash: id }]));
  const plan = makePlan(session, facts);
  expect(plan.sources).toHaveLength(tracks);
  expect(plan.strips).toHaveLength(2 * tracks + groups + buses);
  expect(originsOf(plan).get('bus-0')!.doubles).toHaveLength(groups);
  const solo = makePlan(soloed(session, ['track-1', 'bus-2']), facts);
  expect(solo.paths.filter(({ gain }) => gain > 0)).toHaveLength(1 + buses);
});
