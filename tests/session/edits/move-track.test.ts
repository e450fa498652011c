import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { addGroup, addTrack, setKey, setSend } from '../../../src/session/edits/edits.ts';
import { moveTrack, moveWords } from '../../../src/session/edits/move-track.ts';
import { problemsOf } from '../../../src/session/read/parse.ts';
import type { Session } from '../../../src/session/schema.ts';
import { sessions } from '../../helpers/session-arbitrary.ts';
import { smallSession } from '../../helpers/session-file.ts';
import { casesOf } from '../../helpers/soak.ts';

/** Drums with kick and snare feed the squeeze and, quieter, the plate; voices feed the echo. */
const band = (): Session =>
  addTrack(setSend(smallSession(), 'drums', 'plate', { levelDb: -9, tap: 'pre-fader' }), {
    name: 'Snare',
    file: 'tracks/snare.wav',
    group: 'drums',
  });

const sendsOf = (session: Session, group: string) => session.groups.find(({ id }) => id === group)!.sends;
/** Buses that a track reaches through its group. */
const fedBy = (session: Session, track: string): string[] =>
  sendsOf(session, session.tracks.find(({ id }) => id === track)!.group).map(({ to }) => to);

describe('a track that moves to a new group', () => {
  const added = addGroup(band(), 'Punch');

  test('takes the feeds of its old group along, at their levels, once', () => {
    const kick = moveTrack(added, 'kick', 'punch');
    expect(sendsOf(kick, 'punch')).toEqual(sendsOf(added, 'drums'));
    expect(sendsOf(kick, 'drums')).toEqual(sendsOf(added, 'drums'));
    expect(sendsOf(moveTrack(kick, 'snare', 'punch'), 'punch')).toEqual(sendsOf(added, 'drums'));
    expect(moveWords(added, kick, 'kick')).toBe(
      'Kick was moved to Punch: Punch now feeds Squeeze and Plate, as Drums does.',
    );
  });

  test('adds the feeds of another group only while the new one is being filled', () => {
    const kick = moveTrack(added, 'kick', 'punch');
    expect(fedBy(moveTrack(kick, 'voice', 'punch', true), 'voice')).toEqual(['squeeze', 'plate', 'echo']);
    const filled = moveTrack(kick, 'voice', 'punch');
    expect(fedBy(filled, 'voice')).toEqual(['squeeze', 'plate']);
    expect(moveWords(kick, filled, 'voice')).toBe(
      'Voice was moved to Punch: Voice no longer feeds Echo; Voice now also feeds Squeeze and Plate.',
    );
  });

  test('what its old group steers follows with the last track', () => {
    const keyed = setKey(setKey(added, 'echo', 'drums'), 'voices', 'drums');
    const keysOf = ({ buses, groups }: Session) => [...groups, ...buses].flatMap(({ key }) => key ?? []);
    const kick = moveTrack(keyed, 'kick', 'punch');
    expect(keysOf(kick)).toEqual(['drums', 'drums']);
    expect(moveWords(keyed, kick, 'kick')).toContain('Kick no longer keys Voices and Echo');
    const both = moveTrack(kick, 'snare', 'punch', true);
    expect(keysOf(both)).toEqual(['punch', 'punch']);
    expect(moveWords(kick, both, 'snare')).toBe(
      'Snare was moved to Punch: Snare still feeds Squeeze and Plate; Punch is now the key input of Voices and Echo.',
    );
  });

  test('whatever the session, it feeds what it fed before', () => {
    fc.assert(
      fc.property(sessions, fc.nat(9), (start, n) => {
        fc.pre(start.tracks.length > 0 && start.groups.length < 32);
        const session = addGroup(start, 'New one');
        const track = session.tracks[n % session.tracks.length]!.id;
        const moved = moveTrack(session, track, session.groups.at(-1)!.id);
        expect(fedBy(moved, track)).toEqual(fedBy(session, track));
        expect(moved.groups.slice(0, -1)).toEqual(session.groups.slice(0, -1));
        expect(problemsOf(moved)).toEqual([]);
      }),
      { numRuns: casesOf(20, 120) },
    );
  });

  test('a group filled from several feeds all that they fed, and steers what they steered', () => {
    fc.assert(
      fc.property(sessions, (start) => {
        fc.pre(start.tracks.length > 0 && start.groups.length < 32);
        const session = addGroup(start, 'New one');
        const to = session.groups.at(-1)!.id;
        const all = session.tracks.reduce((moved, { id }) => moveTrack(moved, id, to, true), session);
        for (const { id } of session.tracks) expect(fedBy(all, id)).toEqual(expect.arrayContaining(fedBy(session, id)));
        const wasFilled = new Set(session.tracks.map(({ group }) => group));
        for (const { key } of [...all.groups, ...all.buses]) expect(wasFilled.has(key ?? '')).toBe(false);
        expect(problemsOf(all)).toEqual([]);
      }),
      { numRuns: casesOf(20, 120) },
    );
  });
});

test('a move to a group that is there changes no feed of any group, and what it changes for the track is said', () => {
  const before = band();
  const after = moveTrack(before, 'kick', 'voices');
  expect(after.groups).toBe(before.groups);
  expect(moveWords(before, after, 'kick')).toBe(
    'Kick was moved to Voices: Kick no longer feeds Squeeze and Plate; Kick now also feeds Echo.',
  );
});

test('a move to a group with the same feeds says so; between groups that feed nothing there is nothing to say', () => {
  const before = addGroup(band(), 'Spare');
  const alike = setSend(before, 'spare', 'squeeze');
  const both = setSend(alike, 'spare', 'plate');
  expect(moveWords(both, moveTrack(both, 'kick', 'spare'), 'kick')).toBe(
    'Kick was moved to Spare: Kick still feeds Squeeze and Plate.',
  );
  const unfed = { ...both, groups: both.groups.map((group) => ({ ...group, sends: [] })) };
  expect(moveWords(unfed, moveTrack(unfed, 'kick', 'spare'), 'kick')).toBeNull();
  expect(moveTrack(both, 'kick', 'drums')).toBe(both);
});
