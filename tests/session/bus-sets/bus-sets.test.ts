import { readdirSync } from 'node:fs';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { busSets } from '../../../src/session/bus-sets/bus-sets.ts';
import { asReceived } from '../../../src/render/plan/make-plan.ts';
import { layBusSet } from '../../../src/session/bus-sets/lay-bus-set.ts';
import { problemsOf } from '../../../src/session/read/parse.ts';
import { presets } from '../../../src/session/presets/presets.ts';
import { sentenceOf } from '../../../src/session/problem.ts';
import { busSetFrom } from '../../../src/session/presets/read-preset.ts';
import { feeds, rolesOf } from '../../../src/session/roles.ts';
import type { Send, Session } from '../../../src/session/schema.ts';
import { sessions } from '../../helpers/session-arbitrary.ts';
import { problemFrom } from '../../helpers/session-file.ts';
import { sessionFrom } from '../../helpers/sessions.ts';
import { casesOf } from '../../helpers/soak.ts';

const NAMES = ['Drums', 'Kick and snare', 'Bass', 'Keys', 'E-Gtr L', 'Lead Vox', 'BGVs', 'Foley', 'Basstrommel'];

/** A session with one group a name; names that start with * are marked as vocal. */
const withGroups = (...names: readonly string[]): Session =>
  sessionFrom({
    tracks: [],
    groups: names.map((name, n) => ({ id: `group-${n}`, name: name.replace('*', ''), vocal: name.startsWith('*') })),
  });

const busSet = (name: string) => busSets.find((set) => set.name === name)!;

const roles = (name: string, voice = false): readonly string[] => rolesOf({ name, vocal: voice });

test('a group tells what it holds by the words of its name, or by its vocal mark', () => {
  expect(roles('Kick and snare')).toEqual(['kick', 'snare']);
  expect(roles('DRUMS')).toEqual(['drums']);
  expect(roles('Bass drum')).toEqual(['kick']);
  expect(roles('Overheads_L/R')).toEqual(['cymbals']);
  expect(roles('Keys and pad')).toEqual(['keys']);
  expect(roles('gtr-2 (left)')).toEqual(['guitars']);
  expect(roles('Backing voices', true)).toEqual(['backing vocal']);
  expect(roles('BGVs')).toEqual(['backing vocal']);
  expect(roles('Lead vox')).toEqual(['lead vocal']);
  expect(roles('Mara', true)).toEqual(['lead vocal']);
  expect(roles('Lead guitar')).toEqual(['guitars']);
  expect(roles('Voice pad')).toEqual(['keys', 'lead vocal']);
  expect(roles('Foley')).toEqual(['effects']);
  expect(roles('String quartet and brass')).toEqual(['strings', 'brass']);
  expect(roles('Keystone')).toEqual([]);
});

test('who asks for the drums gets the parts of the kit too, but who asks for the kick gets no whole kit', () => {
  expect(feeds({ name: 'Snare top', vocal: false }, 'drums')).toBe(true);
  expect(feeds({ name: 'Drums', vocal: false }, 'kick')).toBe(false);
  expect(feeds({ name: 'Anything', vocal: false }, 'all')).toBe(true);
});

test('the three-bus start finds its places in a whole band', () => {
  const { session, laid, leftOut } = layBusSet(
    withGroups('Kick', 'Kit', 'Bass', 'Guitars', '*Mara'),
    busSet('three-bus start'),
  );
  expect(laid.map(({ name, fedBy }) => [name, fedBy])).toEqual([
    ['Drum squeeze', ['Kick', 'Kit']],
    ['Side spread', ['Guitars']],
    ['Tape colour', ['Kick', 'Kit', 'Bass', 'Guitars', 'Mara']],
  ]);
  expect(leftOut).toEqual([]);
  expect(session.buses.map(({ id, blendDb }) => [id, blendDb])).toEqual([
    ['drum-squeeze', -8],
    ['side-spread', -4],
    ['tape-colour', -10],
  ]);
  expect(session.buses[0]!.chain).toEqual(presets.find(({ name }) => name === 'drum squeeze')!.chain);
});

test('where no group plays a role, its tracks do: a kick-and-snare bus over one group of drums', () => {
  const track = (name: string, group: string) => ({
    id: name.toLowerCase().replace(' ', '-'),
    name,
    file: 'a.wav',
    group,
  });
  const start = sessionFrom({
    tracks: [...['Kick', 'Snare', 'Toms', 'Room'].map((name) => track(name, 'drums')), track('Kick sub', 'low')],
    groups: [
      { id: 'drums', name: 'Drums' },
      { id: 'low', name: 'Bass' },
    ],
  });
  const { session, laid, leftOut } = layBusSet(start, busSet('drums in front'));
  const fedBy = new Map(laid.map(({ name, fedBy: feeders }) => [name, feeders]));
  expect(fedBy.get('Kick and snare crush')).toEqual(['Kick', 'Snare', 'Kick sub']);
  expect(fedBy.get('Drum squeeze')).toEqual(['Drums']);
  expect(leftOut).toEqual([]);
  expect(session.groups[0]!.sends.map(({ to }) => to)).not.toContain('kick-and-snare-crush');
  // What a group gives already, its tracks do not give again: "Bass" is asked for beside "kick" here.
  expect(fedBy.get('Low-end glue')).toEqual(['Bass', 'Kick']);
});

test('a bus that the session has nothing for is left out, with the reason', () => {
  const { laid, leftOut } = layBusSet(withGroups('Drums', 'Keys'), busSet('vocal first'));
  expect(laid).toEqual([]);
  expect(leftOut.map(({ reason }) => reason)).toEqual([
    'no group or track of lead vocal',
    'no group or track of lead vocal',
    'no group or track of lead vocal',
    'no group or track of lead vocal',
    'no group or track of lead vocal to steer it',
    'no group or track of lead vocal',
    'no group or track of lead vocal or backing vocal',
  ]);
});

test('a set can be laid twice: the new buses get ids of their own', () => {
  const once = layBusSet(withGroups('Drums', 'Bass', '*Lead'), busSet('full band')).session;
  const { session: twice, laid } = layBusSet(once, busSet('full band'));
  expect(laid.map(({ id }) => id)).toContain('drum-squeeze-2');
  expect(problemsOf(twice)).toEqual([]);
  const echo = twice.buses.find(({ id }) => id === 'quarter-delay-2')!;
  expect(echo.sends.map(({ to }) => to)).toEqual(['long-plate-2']);
});

test('laid twice, the second buses get names of their own; laid lower, their blends are lower by that', () => {
  const set = busSet('three-bus start');
  const once = layBusSet(withGroups('Drums', 'Bass', 'Keys', 'Lead Vox'), set);
  const twice = layBusSet(once.session, set, { lowerDb: 12 });
  expect(twice.laid.map(({ name }) => name)).toEqual(once.laid.map(({ name }) => `${name} 2`));
  const blends = (session: Session): number[] => session.buses.map(({ blendDb }) => blendDb);
  const [first, second] = [blends(once.session), blends(twice.session).slice(once.session.buses.length)];
  expect(second).toEqual(first.map((blendDb) => blendDb - 12));
});

test('the key of a bus is the first group of its role', () => {
  const { session } = layBusSet(withGroups('Piano', 'Choir', 'Lead voice'), busSet('vocal first'));
  expect(session.buses.find(({ name }) => name === 'Ducked chords')!.key).toBe('group-2');
});

const named = fc
  .tuple(sessions, fc.array(fc.constantFrom(...NAMES), { minLength: 2, maxLength: 2 }))
  .map(([session, names]): Session => ({
    ...session,
    groups: session.groups.map((group, n) => ({ ...group, name: names[n] ?? group.name })),
  }));

test('over any session a set makes a valid one that keeps all that was there: direct paths, old buses, old sends', () => {
  fc.assert(
    fc.property(named, fc.constantFrom(...busSets), (session, set) => {
      const { session: edited, laid, leftOut } = layBusSet(session, set);
      expect(problemsOf(edited)).toEqual([]);
      // No bus is lost between the lists, and each that is laid is heard from a group or from another one.
      expect([...laid, ...leftOut].map(({ name }) => name).sort()).toEqual(set.buses.map(({ name }) => name).sort());
      for (const { id, fedBy } of laid)
        expect(fedBy.length > 0 || edited.buses.some(({ sends }) => sends.some(({ to }) => to === id))).toBe(true);
      // Without the new buses and the sends to them it is the session as it was.
      const isNew = (id: string): boolean => laid.some((bus) => bus.id === id);
      const without = <T extends { readonly sends: Send[] }>(each: T): T => {
        return { ...each, sends: each.sends.filter(({ to }) => !isNew(to)) };
      };
      const [groups, tracks] = [edited.groups.map(without), edited.tracks.map(without)];
      expect({ ...edited, groups, tracks, buses: edited.buses.filter(({ id }) => !isNew(id)) }).toEqual(session);
      expect(asReceived(edited)).toEqual(asReceived(session));
    }),
    { numRuns: casesOf(40, 300) },
  );
});

test('every file of the folder is a bus set that is called after its name', () => {
  const files = readdirSync('presets/bus-sets');
  expect(busSets.map(({ name }) => `${name.replaceAll(' ', '-')}.json`).sort()).toEqual(files.sort());
  expect(busSets.map(({ name }) => name)).toEqual(expect.arrayContaining(['three-bus start', 'full band']));
});

const bus = (fields: object): object => ({ name: 'A', chain: 'squeeze', feeds: [{ role: 'drums' }], ...fields });
const said = (...buses: readonly object[]): string => {
  const set = { format: 'tributary-preset', version: 3, kind: 'bus set', name: 'set', purpose: 'p', listenFor: 'l' };
  return sentenceOf(problemFrom(() => busSetFrom({ ...set, caution: 'c', buses }, 'set.json', ['squeeze'])));
};

test('what is wrong with a bus set is one clear sentence', () => {
  expect([
    said(),
    said(bus({ chain: 'loudener' })),
    said(bus({ chain: [{ processor: 'gain', settings: { gain: 99 } }] })),
    said(bus({ feeds: [{ role: 'kazoo' }] })).replace(/be .*, not/, 'be …, not'),
    said(bus({ feeds: [] })),
    said(bus({}), bus({})),
    said(bus({}), bus({ name: 'B', sends: [{ to: 'A' }] })),
  ]).toMatchInlineSnapshot(`
    [
      "set.json: buses must be a list of at least 1 item, not 0.",
      "set.json: buses[0].chain must be the name of a chain preset, not "loudener".",
      "set.json: buses[0].chain[0].settings.gain must be between -60 and 24 dB, not 99.",
      "set.json: buses[0].feeds[0].role must be …, not "kazoo".",
      "set.json: buses[0].feeds does not fit: expected a role, or another bus that sends to it, found neither.",
      "set.json: buses[0].name must be a name of its own, not "A".",
      "set.json: buses[1].sends[0].to must name a bus further down in the set, not "A".",
    ]
  `);
});
