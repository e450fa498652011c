import { describe, expect, test } from 'vitest';
import type { Audio } from '../../src/audio/audio.ts';
import { gainOf } from '../../src/audio/decibels.ts';
import { renderDirect } from '../../src/render/direct.ts';
import { flowPlaces } from '../../src/render/plan/flow-places.ts';
import { asReceived } from '../../src/render/plan/make-plan.ts';
import { gainsOf, sumPaths } from '../../src/render/mix.ts';
import { originsOf } from '../../src/render/plan/origins.ts';
import { planned, sessionFrom } from '../helpers/sessions.ts';
import { mono, stereo, whiteNoise } from '../helpers/signals.ts';

const left = whiteNoise(0.3, 1);
const right = whiteNoise(0.3, 2);
const other = whiteNoise(0.3, 3);
const sounds = { take: stereo(left, right), other: mono(other), rough: mono(other) };

type Fields = Record<string, unknown>;
const item = (processor: string, settings: Fields = {}) => ({ id: processor, processor, settings });
const eq = item('eq', { 'band1.on': true, 'band1.frequency': 300 });
const squeeze = item('compressor', { threshold: -30, ratio: 4, lookAhead: 5 });
const keyed = item('compressor', { threshold: -40, ratio: 8, sideChain: 'external' });

/** Two tracks in one group, a third group that is theirs where a test puts them there, and a bus without a chain. */
const song = ({ take, other: second, ...parts }: { readonly take?: Fields; readonly other?: Fields } & Fields) =>
  sessionFrom({
    tracks: [
      { id: 'take', name: 'take', file: 'take.wav', group: 'band', ...take },
      { id: 'other', name: 'other', file: 'other.wav', group: 'band', ...second },
    ],
    groups: [
      { id: 'band', name: 'band' },
      { id: 'one', name: 'one' },
    ],
    buses: [{ id: 'bus', name: 'bus' }],
    rough: { file: 'rough.wav' },
    ...parts,
  });

const rendered = async (session: ReturnType<typeof sessionFrom>) => {
  const { plan, sources } = planned(session, sounds);
  const paths = await renderDirect(plan, sources);
  return { plan, paths, of: (id: string) => paths.get(id) as Audio };
};

/** Largest difference of two stereo sounds, dBFS. */
const differenceDb = (one: Audio, two: Audio): number => {
  const worst = [0, 1].map((c) => {
    const its = two.channels[c]!;
    return one.channels[c]!.reduce((most, x, n) => Math.max(most, Math.abs(x - (its[n] ?? 0))), 0);
  });
  return 20 * Math.log10(Math.max(...worst));
};

// A group rounds its sound to single precision before it is sent on: 2^-25 of samples that stay below 1.
const SINGLE_PRECISION_DB = -150;
const busFed = (sends: Fields) => [{ to: 'bus', levelDb: -3, ...sends }];

describe('a track’s send is that of a group which holds this track alone', () => {
  const placed = {
    pan: 0.3,
    polarity: 'left inverted',
    channels: 'swap',
    offsetSeconds: 37 / 48_000,
    chain: [eq, squeeze],
  };

  test('post-fader: with its level, place, chain and offset', async () => {
    const track = { ...placed, gainDb: -6 };
    const fed = await rendered(song({ take: { ...track, sends: busFed({}) } }));
    const one = { id: 'one', name: 'one', sends: busFed({}) };
    const alone = await rendered(
      song({ take: { ...track, group: 'one' }, groups: [{ id: 'band', name: 'band' }, one] }),
    );
    expect(differenceDb(fed.of('bus'), alone.of('bus'))).toBeLessThan(SINGLE_PRECISION_DB);
  });

  test.each([-6, 0, -90])(
    'pre-fader: with the level at 0 dB and in the middle, whatever they are (%d dB)',
    async (gainDb) => {
      const pre = busFed({ tap: 'pre-fader' });
      const fed = await rendered(song({ take: { ...placed, gainDb, sends: pre } }));
      const one = { id: 'one', name: 'one', faderDb: gainDb, sends: pre };
      const alone = await rendered(
        song({ take: { ...placed, pan: 0, group: 'one' }, groups: [{ id: 'band', name: 'band' }, one] }),
      );
      expect(differenceDb(fed.of('bus'), alone.of('bus'))).toBeLessThan(SINGLE_PRECISION_DB);
    },
  );

  test('as the key of a bus, a group and another track', async () => {
    const one = (fields: Fields) => [
      { id: 'band', name: 'band', ...fields },
      { id: 'one', name: 'one' },
    ];
    const inGroup = { take: { group: 'one', chain: [eq], gainDb: -2 } };
    const bus = (key: string) => [{ id: 'bus', name: 'bus', key, chain: [keyed] }];
    const sends = busFed({});
    const byTrack = await rendered(song({ ...inGroup, other: { sends }, buses: bus('take') }));
    const byGroup = await rendered(song({ ...inGroup, other: { sends }, buses: bus('one') }));
    expect(differenceDb(byTrack.of('bus'), byGroup.of('bus'))).toBeLessThan(SINGLE_PRECISION_DB);
    const group = await rendered(song({ ...inGroup, groups: one({ key: 'take', chain: [keyed] }) }));
    for (const key of ['take', 'one']) {
      const track = await rendered(song({ ...inGroup, other: { key, chain: [keyed] } }));
      expect(differenceDb(track.of('band'), group.of('band'))).toBeLessThan(SINGLE_PRECISION_DB);
    }
    const unkeyed = await rendered(song({ ...inGroup, other: { chain: [keyed] } }));
    expect(differenceDb(unkeyed.of('band'), group.of('band'))).toBeGreaterThan(-60);
  });
});

test('a bus fed by a track doubles it to the sample, whatever look-ahead the track has', async () => {
  const session = song({ take: { chain: [squeeze], gainDb: -4, sends: [{ to: 'bus' }] }, other: { on: false } });
  const { plan, paths, of } = await rendered(session);
  const mix = sumPaths(paths, gainsOf(plan));
  const dry = of('band').channels[0]!;
  expect(mix.channels[0]!.every((x, n) => x === 2 * dry[n]!)).toBe(true);
  expect(originsOf(plan).get('bus')!.doubles).toMatchObject([{ id: 'band', lagSamples: 0, polarity: 1 }]);
});

test('a track that is 37 samples late is 37 samples late in its bus', async () => {
  const { of } = await rendered(song({ take: { offsetSeconds: 37 / 48_000, sends: [{ to: 'bus' }] } }));
  const [heard] = of('bus').channels;
  expect(heard!.findIndex((x) => x !== 0)).toBe(37);
  expect(left.every((x, n) => heard![37 + n] === x)).toBe(true);
});

test('what a bus gets of a track lies against that track in its group, behind the group’s own chain', async () => {
  const groups = [{ id: 'band', name: 'band', chain: [item('delay', { time: 1, feedback: 0, mix: 100 })] }];
  const { plan } = await rendered(song({ take: { sends: [{ to: 'bus' }] }, groups }));
  expect(originsOf(plan).get('bus')!.doubles).toMatchObject([{ id: 'band', lagSamples: -48 }]);
});

test('channel modes, polarity and pan law are arithmetic on the samples of the file', async () => {
  const mode = async (fields: Fields, more: Fields = {}) =>
    (await rendered(song({ take: fields, other: { on: false }, ...more }))).of('band').channels;
  const expectSame = (heard: Float32Array | undefined, wanted: (n: number) => number) =>
    expect(Math.max(...left.map((_, n) => Math.abs(heard![n]! - wanted(n))))).toBeLessThan(1e-7);
  const sum = await mode({ channels: 'sum', polarity: 'right inverted' });
  expectSame(sum[0], (n) => (left[n]! + right[n]!) / 2);
  expectSame(sum[1], (n) => -(left[n]! + right[n]!) / 2);
  const hard = await mode({ channels: 'right', pan: 1 }, { panLaw: '-6 dB' });
  expectSame(hard[0], () => 0);
  expectSame(hard[1], (n) => 2 * right[n]!);
  const far = await mode({ pan: 0.5 }, { panLaw: '-4.5 dB' });
  expectSame(far[0], (n) => 2 ** -0.75 * left[n]!);
  expectSame(far[1], (n) => right[n]! + 2 ** -0.75 * left[n]!);
});

test('the rough feeds a bus through its own chain, and never the mix directly', async () => {
  const rough = { file: 'rough.wav', offsetSeconds: -0.1, chain: [item('gain', { gain: 6 })], sends: busFed({}) };
  const { plan, of } = await rendered(song({ rough }));
  const gain = gainOf(6) * gainOf(-3);
  const [heard] = of('bus').channels;
  expect(Math.max(...other.subarray(4800).map((x, n) => Math.abs(heard![n]! - gain * x)))).toBeLessThan(1e-6);
  expect(plan.paths.map(({ id }) => id)).toEqual(['band', 'one', 'bus']);
  const shut = await rendered(song({ rough: { ...rough, sends: busFed({ on: false }) } }));
  expect(shut.of('bus').channels[0]!.every((x) => x === 0)).toBe(true);
  expect(asReceived(song({ rough })).rough).toMatchObject({ chain: [], sends: [] });
});

test('the flow shows tracks and the rough as what feeds a bus', () => {
  const session = song({
    take: { chain: [squeeze], gainDb: -6, sends: busFed({ tap: 'pre-fader' }) },
    rough: { file: 'rough.wav', sends: busFed({}) },
  });
  const places = flowPlaces(planned(session, sounds).plan);
  expect(places.find(({ id }) => id === 'bus')!.feeds.map(({ from }) => from)).toEqual(['take', 'rough']);
  expect(places.map(({ id, kind }) => `${kind} ${id}`)).toEqual(
    expect.arrayContaining(['source take', 'source other', 'source rough', 'group band', 'bus bus']),
  );
});
