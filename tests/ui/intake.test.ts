import { describe, expect, test } from 'vitest';
import { problemsOf } from '../../src/session/parse.ts';
import { freePath, matchFiles, sortGiven, type GivenFile } from '../../src/ui/intake/dropped.ts';
import {
  filesOf,
  guessPlacements,
  newSession,
  place,
  placementFault,
  trackName,
} from '../../src/ui/intake/placement.ts';

const given = (...paths: string[]): GivenFile[] =>
  paths.map((path) => ({ path, file: new File([path], path.split('/').at(-1)!) }));
const facts = (path: string, sampleRate = 48_000) => ({ path, seconds: 60, sampleRate, channels: 2 });

describe('what is dropped', () => {
  test('is told apart by its ending; hidden files of a folder are passed over', () => {
    const { sessions, audio, other } = sortGiven(
      given('song/session.json', 'song/Kick.WAV', 'song/.DS_Store', 'notes.txt'),
    );
    expect([sessions, audio, other].map((list) => list.map(({ path }) => path))).toEqual([
      ['song/session.json'],
      ['song/Kick.WAV'],
      ['notes.txt'],
    ]);
  });

  test('meets the files of a session by its folder first, then by its name', () => {
    const files = given('other/kick.wav', 'song/tracks/kick.wav', 'snare.flac');
    const found = matchFiles(['tracks/kick.wav', 'tracks/snare.flac', 'tracks/hat.wav'], files);
    expect(found.get('tracks/kick.wav')).toBe(files[1]!.file);
    expect(found.get('tracks/snare.flac')).toBe(files[2]!.file);
    expect(found.has('tracks/hat.wav')).toBe(false);
  });

  test('gets a name that no other file has', () => {
    expect(freePath('kick.wav', new Set())).toBe('kick.wav');
    expect(freePath('kick.wav', new Set(['kick.wav', 'kick-2.wav']))).toBe('kick-3.wav');
    expect(freePath('..\\up\\kick', new Set())).toBe('kick');
  });
});

describe('where files go', () => {
  const files = ['Song_rough.wav', '01 Kick.wav', 'snare_top.wav', 'Bass DI.wav', 'lead-vox.wav', 'whistle.wav'].map(
    (path) => facts(path),
  );
  const placements = guessPlacements(null, files);

  test('is guessed from plain words in their names', () => {
    expect(placements.map(({ target }) => (target.kind === 'new group' ? target.name : target.kind))).toEqual([
      'rough',
      'Drums',
      'Drums',
      'Bass',
      'Voice',
      'Other',
    ]);
  });

  test('makes a session that is right throughout, each group once', () => {
    const session = place(newSession(files), placements);
    expect(problemsOf(session)).toEqual([]);
    expect(session.groups.map(({ name }) => name)).toEqual(['Drums', 'Bass', 'Voice', 'Other']);
    expect(session.rough?.file).toBe('Song_rough.wav');
    expect(session.tracks.map(({ name }) => name)).toEqual(['01 Kick', 'Snare top', 'Bass DI', 'Lead vox', 'Whistle']);
    expect(filesOf(session).sort()).toEqual(files.map(({ path }) => path).sort());
  });

  test('a new rough takes the place of the one that is there, but two at once are refused', () => {
    const session = place(newSession(files), placements);
    const newer = guessPlacements(session, [facts('mix v2.wav'), facts('mix v3.wav')]);
    expect(newer.map(({ target }) => target.kind)).toEqual(['rough', 'group']);
    expect(place(session, newer.slice(0, 1)).rough?.file).toBe('mix v2.wav');
    expect(placementFault([...placements, { facts: facts('b.wav'), target: { kind: 'rough' } }])).toContain('Only one');
    expect(placementFault(placements)).toBeNull();
    expect(placementFault([{ facts: facts('b.wav'), target: { kind: 'nowhere' } }])).not.toBeNull();
  });

  test('a group that is there is used by its name, whatever its capitals', () => {
    const session = place(newSession(files), placements);
    const more = guessPlacements(session, [facts('hat.wav')]);
    expect(more[0]!.target).toEqual({ kind: 'group', id: 'drums' });
    expect(place(session, more).groups).toHaveLength(4);
  });

  test('the session runs at the rate that most files have', () => {
    expect(newSession([facts('a', 44_100), facts('b', 96_000), facts('c', 44_100)]).sampleRate).toBe(44_100);
  });

  test('of rates that equally many files have, the higher one is taken', () => {
    expect(newSession([facts('a', 44_100), facts('b', 96_000), facts('c', 48_000)]).sampleRate).toBe(96_000);
  });
});

test('a file without a usable name is still a track', () => {
  expect(trackName('tracks/.wav')).toBe('Track');
});
