import { expect, test } from 'vitest';
import * as edit from '../../../src/session/edits/edits.ts';
import { moveTrack } from '../../../src/session/edits/move-track.ts';
import { problemsOf } from '../../../src/session/read/parse.ts';
import { sentenceOf } from '../../../src/session/problem.ts';
import type { Session } from '../../../src/session/schema.ts';
import { processorItem } from '../../helpers/chain-items.ts';
import { problemFrom, smallSession } from '../../helpers/session-file.ts';

const session = smallSession();

const said = (work: () => Session): string => sentenceOf(problemFrom(work));

const bus = (from: Session, id: string) => from.buses.find((each) => each.id === id);

test('a level moves and the rest of the session is shared', () => {
  const louder = edit.setBlend(session, 'squeeze', -3.5);
  expect(bus(louder, 'squeeze')?.blendDb).toBe(-3.5);
  expect(louder.tracks).toBe(session.tracks);
  expect(louder.groups).toBe(session.groups);
  expect(bus(louder, 'echo')).toBe(bus(session, 'echo'));
  expect(edit.setFader(session, 'drums', 1).groups[0]?.faderDb).toBe(1);
  expect(edit.setTrim(session, -2).mixBus).toEqual({ trimDb: -2, chain: [] });
  expect(edit.changeTrack(session, 'voice', { pan: -1, polarity: 'inverted' }).tracks[1]).toMatchObject({
    pan: -1,
    polarity: 'inverted',
    gainDb: 0,
  });
});

test('a group is marked as a voice, and nothing else is one', () => {
  const marked = edit.setVocal(session, 'drums', true);
  expect(marked.groups.map(({ vocal }) => vocal)).toEqual(
    session.groups.map(({ id, vocal }) => (id === 'drums' ? true : vocal)),
  );
  expect(marked.buses).toBe(session.buses);
  expect(edit.setVocal(marked, 'drums', true)).toBe(marked);
  expect(() => edit.setVocal(session, 'squeeze', true)).toThrow(RangeError);
});

test('an edit that changes nothing gives the same session back', () => {
  expect(edit.setBlend(session, 'squeeze', -8)).toBe(session);
  expect(edit.setOn(session, 'kick', true)).toBe(session);
  expect(edit.setTempo(session, 120)).toBe(session);
  expect(edit.setSend(session, 'voices', 'echo', { levelDb: -6 })).toBe(session);
  expect(edit.removeSend(session, 'voices', 'plate')).toBe(session);
});

test('what a session may not hold is refused with the place of the control', () => {
  expect([
    said(() => edit.setBlend(session, 'squeeze', 40)),
    said(() => edit.setFader(session, 'drums', NaN)),
    said(() => edit.setTrim(session, 100)),
    said(() => edit.setTempo(session, 5)),
    said(() => edit.changeTrack(session, 'voice', { pan: 2 })),
    said(() => edit.rename(session, 'voice', '  ')),
    said(() => edit.addTrack(session, { name: 'Snare', file: '/abs.wav', group: 'drums' })),
    said(() => edit.addTrack(session, { name: 'Snare', file: 'snare.wav', group: 'brass' })),
    said(() => moveTrack(session, 'kick', 'squeeze')),
    said(() => edit.removeGroup(session, 'drums')),
    said(() => edit.setSections(session, [{ name: 'Verse', startSeconds: 9, endSeconds: 3 }])),
    said(() => edit.setSend(session, 'drums', 'voices')),
    said(() => edit.setRough(session, '')),
    said(() => edit.setSampleRate(session, 4000)),
  ]).toMatchInlineSnapshot(`
    [
      "buses[0].blendDb must be between -90 and 24, not 40.",
      "groups[0].faderDb must be a number, not NaN.",
      "mixBus.trimDb must be between -60 and 24, not 100.",
      "tempo must be between 20 and 400, not 5.",
      "tracks[1].pan must be between -1 and 1, not 2.",
      "tracks[1].name must be a text that is not empty, not "".",
      "tracks[2].file must be a path relative to the session file, with forward slashes, not "/abs.wav".",
      "tracks[2].group must name a group of this session ("drums" or "voices"), not "brass".",
      "tracks[0].group must name a group of this session ("drums" or "voices"), not "squeeze", which is a bus.",
      "tracks[0].group must name a group of this session ("voices"), not "drums".",
      "sections[0].endSeconds must be later than its start, 9, not 3.",
      "groups[0].sends[1].to must name a bus of this session ("squeeze", "echo" or "plate"), not "voices", which is a group.",
      "rough.file must be a text that is not empty, not "".",
      "sampleRate must be between 8000 and 192000, not 4000.",
    ]
  `);
});

test('an edit that would send sound back to where it came from is refused with the round trip', () => {
  expect([
    said(() => edit.setSend(session, 'plate', 'echo')),
    said(() => edit.setSend(session, 'plate', 'plate')),
    said(() => edit.setKey(session, 'voices', 'plate')),
  ]).toMatchInlineSnapshot(`
    [
      "buses[2].sends[0].to leads sound back to where it came from (echo -> plate -> echo): expected sends and keys that only lead onward.",
      "buses[2].sends[0].to leads sound back to where it came from (plate -> plate): expected sends and keys that only lead onward.",
      "groups[1].key leads sound back to where it came from (voices -> echo -> plate -> voices): expected sends and keys that only lead onward.",
    ]
  `);
  expect(problemsOf(session)).toEqual([]);
});

test('new members get ids from their names, never one that is taken or has a meaning of its own', () => {
  let made = edit.addTrack(session, { name: 'Kick', file: 'tracks/kick 2.wav', group: 'drums' });
  made = edit.addTrack(made, { name: 'Bäss & Söhne!', file: 'tracks/bass.wav', group: 'drums' });
  made = edit.addTrack(made, { name: '鼓', file: 'tracks/drum.wav', group: 'drums' });
  made = edit.addGroup(made, 'Rough');
  made = edit.addBus(made, {
    name: 'Mix',
    blendDb: -6,
    chain: [processorItem('gain')],
  });
  made = edit.addBus(made, { name: 'x'.repeat(80) });
  expect(made.tracks.slice(2).map(({ id }) => id)).toEqual(['kick-2', 'bass-sohne', 'path']);
  expect(made.groups.at(-1)?.id).toBe('rough-2');
  expect(made.buses.slice(3).map(({ id }) => id)).toEqual(['mix-2', 'x'.repeat(58)]);
  expect(bus(made, 'mix-2')).toMatchObject({ name: 'Mix', blendDb: -6, key: null, sends: [] });
  expect(problemsOf(made)).toEqual([]);
});

test('removing a bus removes the sends and keys that point to it, and nothing else', () => {
  const keyed = edit.setKey(edit.setSend(session, 'drums', 'plate'), 'plate', 'echo');
  const without = edit.removeBus(keyed, 'echo');
  expect(without.buses.map(({ id }) => id)).toEqual(['squeeze', 'plate']);
  expect(bus(without, 'plate')?.key).toBeNull();
  expect(without.groups[1]?.sends).toEqual([]);
  expect(without.groups[0]).toBe(keyed.groups[0]);
  expect(problemsOf(without)).toEqual([]);
});

test('removing a track lets go of the keys that listen to it', () => {
  const keyed = edit.setKey(session, 'squeeze', 'kick');
  const without = edit.removeTrack(keyed, 'kick');
  expect(without.tracks.map(({ id }) => id)).toEqual(['voice']);
  expect(bus(without, 'squeeze')?.key).toBeNull();
});

test('a send is added with its defaults, changed, and taken out', () => {
  const added = edit.setSend(session, 'drums', 'plate', { tap: 'pre-fader' });
  expect(added.groups[0]?.sends[1]).toEqual({ to: 'plate', levelDb: 0, tap: 'pre-fader', on: true });
  const quieter = edit.setSend(added, 'drums', 'plate', { levelDb: -10 });
  expect(quieter.groups[0]?.sends[1]).toEqual({ to: 'plate', levelDb: -10, tap: 'pre-fader', on: true });
  expect(edit.removeSend(quieter, 'drums', 'plate').groups[0]?.sends).toEqual(session.groups[0]?.sends);
});

test('groups take tracks in and can go once they are empty', () => {
  const moved = moveTrack(session, 'kick', 'voices');
  expect(edit.removeGroup(moved, 'drums').groups.map(({ id }) => id)).toEqual(['voices']);
});

test('the song itself: rough, sections in order, words, meter', () => {
  expect(edit.setRough(session, 'rough.wav', -0.5).rough).toEqual({
    file: 'rough.wav',
    offsetSeconds: -0.5,
    chain: [],
    sends: [],
  });
  expect(edit.setRough(edit.setRough(session, 'rough.wav'), null).rough).toBeNull();
  const sections = [
    { name: 'Chorus', startSeconds: 8, endSeconds: 16 },
    { name: 'Verse', startSeconds: 0, endSeconds: 8 },
  ];
  expect(edit.setSections(session, sections).sections.map(({ name }) => name)).toEqual(['Verse', 'Chorus']);
  expect(edit.changeSong(session, { title: 'Long song', meter: [6, 8] })).toMatchObject({
    title: 'Long song',
    meter: [6, 8],
    tempo: 120,
  });
});

test('naming what is not there is a mistake of the program, not of its user', () => {
  expect(() => edit.setBlend(session, 'nothing', 0)).toThrow(RangeError);
  expect(() => edit.setBlend(session, 'drums', 0)).toThrow(RangeError);
  expect(() => edit.setOn(session, 'nothing', false)).toThrow(RangeError);
  expect(() => edit.setSend({ ...session, rough: null }, 'rough', 'echo')).toThrow(RangeError);
  expect(() => edit.setSoloSafe(session, 'kick', true)).toThrow(RangeError);
});

test.each([
  ['Voice', true],
  ['Lead vocal', true],
  ['Backing voices', true],
  ['Voice pad', false],
  ['Drums', false],
])('a group that is added as "%s" is marked as a voice: %s', (name, voice) => {
  expect(edit.addGroup(smallSession(), name).groups.at(-1)).toMatchObject({ name, vocal: voice });
});
