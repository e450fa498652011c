import { expect, test } from 'vitest';
import type { Audio } from '../../src/audio/audio.ts';
import { renderDirect } from '../../src/render/direct.ts';
import { gainsOf, sumPaths } from '../../src/render/mix.ts';
import type { Session } from '../../src/session/schema.ts';
import { sessionText } from '../../src/session/read/serialize.ts';
import { isUnheard, soloed, soloNames } from '../../src/session/solo.ts';
import { planned, sessionFrom } from '../helpers/sessions.ts';
import { mono, whiteNoise } from '../helpers/signals.ts';

const noise = (seed: number) => mono(whiteNoise(0.2, seed));
const sounds = { kick: noise(1), snare: noise(2), voice: noise(3), pad: noise(4), rough: noise(5) };
const track = (id: string, group: string, more = {}) => ({ id, name: id, file: `${id}.wav`, group, ...more });
const gain = (db: number) => [{ id: 'gain', processor: 'gain', settings: { gain: db } }];
const ducked = [{ id: 'c', processor: 'compressor', settings: { threshold: -40, ratio: 8, sideChain: 'external' } }];

/** Drums that feed a bus for them alone and a plate, voices that feed the plate through an echo, a pad that ducks to the kick. */
const song = (parts = {}): Session =>
  sessionFrom({
    tracks: [
      track('kick', 'drums'),
      track('snare', 'drums', { sends: [{ to: 'plate', levelDb: -6 }] }),
      track('voice', 'voices'),
      track('pad', 'pads'),
    ],
    groups: [
      { id: 'drums', name: 'Drums', faderDb: -2, sends: [{ to: 'squeeze' }, { to: 'plate', levelDb: -3 }] },
      { id: 'voices', name: 'Voices', faderDb: 3, sends: [{ to: 'echo', levelDb: -4 }] },
      { id: 'pads', name: 'Pads', key: 'kick', chain: ducked },
    ],
    buses: [
      { id: 'squeeze', name: 'Squeeze', chain: gain(3), blendDb: -5 },
      { id: 'echo', name: 'Echo', chain: gain(-1), blendDb: -7, sends: [{ to: 'plate', levelDb: -2 }] },
      { id: 'plate', name: 'Plate', chain: gain(2), blendDb: -9 },
    ],
    rough: { file: 'rough.wav', sends: [{ to: 'plate', levelDb: -20 }] },
    ...parts,
  });

const mixOf = async (session: Session): Promise<Audio> => {
  const { plan, sources } = planned(session, sounds);
  return sumPaths(await renderDirect(plan, sources), gainsOf(plan));
};

/** The song with only these tracks on and the rough feeding nothing, and with these blends shut. */
const only = (tracks: readonly string[], shut: readonly string[] = []): Session => {
  const session = song();
  return {
    ...session,
    rough: { ...session.rough!, sends: [] },
    tracks: session.tracks.map((each) => ({ ...each, on: tracks.includes(each.id) })),
    groups: session.groups.map((each) => (shut.includes(each.id) ? { ...each, faderDb: -90 } : each)),
    buses: session.buses.map((each) => (shut.includes(each.id) ? { ...each, blendDb: -90 } : each)),
  };
};

const expectSame = async (one: Session, other: Session): Promise<void> => {
  const [a, b] = [await mixOf(one), await mixOf(other)];
  const worst = Math.max(...a.channels[0]!.map((x, n) => Math.abs(x - b.channels[0]![n]!)));
  const loudest = Math.max(...b.channels[0]!.map(Math.abs));
  expect(loudest).toBeGreaterThan(0.01);
  // Faders and levels are multiplied in another order: a few roundings of single precision.
  expect(worst).toBeLessThan(1e-6);
};

test('a soloed group is the mix of its tracks alone, with the buses that they feed', async () => {
  await expectSame(soloed(song(), ['drums']), only(['kick', 'snare']));
  await expectSame(soloed(song(), ['voices']), only(['voice']));
  await expectSame(soloed(song(), ['drums', 'voices']), only(['kick', 'snare', 'voice']));
});

test('a soloed track is the mix of this track alone, through its group and what follows', async () => {
  await expectSame(soloed(song(), ['snare']), only(['snare']));
  await expectSame(soloed(song(), ['kick']), only(['kick']));
  await expectSame(soloed(song(), ['kick', 'drums']), only(['kick', 'snare']));
});

test('a soloed bus is its return alone, fed by all that feeds it, and what follows it where that is solo-safe', async () => {
  const shutGroups = ['drums', 'voices', 'pads', 'squeeze'];
  const whole = song();
  const mix = (shut: readonly string[]): Session => ({
    ...whole,
    groups: whole.groups.map((group) => ({
      ...group,
      faderDb: -90,
      // Shut, and still sent on as loud as before.
      sends: group.sends.map((s) => ({ ...s, tap: 'pre-fader' as const, levelDb: s.levelDb + group.faderDb })),
    })),
    buses: whole.buses.map((bus) => (shut.includes(bus.id) ? { ...bus, blendDb: -90 } : bus)),
  });
  await expectSame(soloed(whole, ['squeeze']), mix(['echo', 'plate']));
  const fedByEcho = (session: Session): Session => ({
    ...session,
    rough: { ...session.rough!, sends: [] },
    tracks: session.tracks.map((each) => ({ ...each, sends: [] })),
    groups: session.groups.map((each) => ({ ...each, sends: each.sends.filter(({ to }) => to !== 'plate') })),
  });
  await expectSame(soloed(whole, ['echo']), fedByEcho(mix(shutGroups)));
  const unsafe = { ...whole, buses: whole.buses.map((bus) => ({ ...bus, soloSafe: false })) };
  await expectSame(soloed(unsafe, ['echo']), mix([...shutGroups, 'plate']));
  // The plate alone hears the echo, which is not heard itself; and the rough, which it contains.
  const plate = soloed(whole, ['plate']);
  expect(plate.rough!.sends).toHaveLength(1);
  expect(isUnheard(plate.buses.find(({ id }) => id === 'echo')!)).toBe(true);
  expect(() => sessionText(plate)).toThrow(/unheard/);
});

test('what is not heard still steers: a pad ducks to the kick that is not soloed', async () => {
  const shut = only(['kick', 'pad'], ['drums', 'squeeze', 'plate']);
  await expectSame(soloed(song(), ['pads']), shut);
  const both = { ...song(), groups: song().groups.map((g) => (g.id === 'pads' ? { ...g, key: 'snare' } : g)) };
  const solo = soloed(both, ['kick', 'pads']);
  expect(planned(solo, sounds).plan.strips.find(({ id }) => id === 'pads')!.spec.keyInputs).toHaveLength(1);
});

test('what solo changes by levels alone is not rendered anew, and a bus that nobody hears steers as it always does', () => {
  const rendered = (session: Session): ReadonlyMap<string, string> =>
    new Map(planned(session, sounds).plan.strips.map(({ id, key }) => [id, key]));
  // Pads feed nothing.
  expect(rendered(soloed(song(), ['pads']))).toEqual(rendered(song()));
  const whole = rendered(song());
  const drums = rendered(soloed(song(), ['drums']));
  expect([...whole.keys()].filter((id) => drums.get(id) !== whole.get(id))).toEqual(['plate']);
  const byBus = { ...song(), groups: song().groups.map((g) => (g.id === 'pads' ? { ...g, key: 'echo' } : g)) };
  expect(rendered(soloed(byBus, ['pads'])).get('pads')).toBe(rendered(byBus).get('pads'));
});

test('groups that are solo-safe stay, and what the session does not have counts for nothing', async () => {
  const safe = { ...song(), groups: song().groups.map((g) => (g.id === 'voices' ? { ...g, soloSafe: true } : g)) };
  await expectSame(soloed(safe, ['drums']), only(['kick', 'snare', 'voice']));
  const whole = song();
  expect(soloed(whole, ['gone'])).toBe(whole);
  expect(soloed(whole, [])).toBe(whole);
  expect(soloNames(whole, ['kick', 'plate', 'gone'])).toBe('Plate, kick');
});

test('a line on the fader of what is not heard stays out of the mix, and still moves what it sends', () => {
  const points = [
    { at: 0, value: -12, curve: 'linear' },
    { at: 0.2, value: 0, curve: 'hold' },
  ];
  const lines = [{ id: 'ride', target: { of: 'drums', what: 'level' }, points }];
  const { plan } = planned(soloed(song({ lines }), ['squeeze']), sounds);
  expect(plan.paths.find(({ id }) => id === 'drums')).toEqual({ id: 'drums', kind: 'group', gain: 0 });
  expect(plan.strips.find(({ id }) => id === 'squeeze')!.spec.inputs[0]!.moving).toBeDefined();
});
