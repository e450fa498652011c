import { describe, expect, test } from 'vitest';
import { addGroup } from '../../src/session/edits/edits.ts';
import { problemsOf } from '../../src/session/read/parse.ts';
import { feeds, KIT, ROLES, WORDS } from '../../src/session/roles.ts';
import { filesOf } from '../../src/engine/files-of-session.ts';
import { haveSameContent } from '../../src/ui/intake/same-content.ts';
import { freePath, matchFiles, sortGiven, type GivenFile } from '../../src/ui/intake/dropped.ts';
import { guessPlacements, learned, newSession, place, placementFault } from '../../src/ui/intake/placement.ts';

const given = (...paths: string[]): GivenFile[] =>
  paths.map((path) => ({ path, file: new File([path], path.split('/').at(-1)!) }));
const facts = (path: string, sampleRate = 48_000) => ({ path, seconds: 60, sampleRate, channels: 2 });

describe('what is dropped', () => {
  test('is told apart by its ending; hidden files of a folder are passed over', () => {
    const { sessions, audio, other } = sortGiven(
      given('song/session.json', 'song/Kick.WAV', 'song/.DS_Store', 'song/._Kick.WAV', 'notes.txt'),
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
      'Vocals',
      'Other',
    ]);
  });

  test('makes a session that is right throughout, each group once', () => {
    const session = place(newSession(files), placements);
    expect(problemsOf(session)).toEqual([]);
    expect(session.groups.map(({ name }) => name)).toEqual(['Drums', 'Bass', 'Vocals', 'Other']);
    expect(session.rough?.file).toBe('Song_rough.wav');
    expect(session.tracks.map(({ name }) => name)).toEqual(['Kick', 'Snare top', 'Bass DI', 'Lead vox', 'Whistle']);
    expect(filesOf(session).sort()).toEqual(files.map(({ path }) => path).sort());
  });

  test('a new rough takes the place of the one that is there, but two at once are refused', () => {
    const session = place(newSession(files), placements);
    const newer = guessPlacements(session, [facts('mix v2.wav'), facts('mix v3.wav')]);
    expect(newer.map(({ target }) => target.kind)).toEqual(['rough', 'nowhere']);
    expect(newer[1]!.note).toContain('mix v2.wav is the rough');
    expect(place(session, newer.slice(0, 1)).rough?.file).toBe('mix v2.wav');
    expect(placementFault([...placements, { facts: facts('b.wav'), target: { kind: 'rough' } }])).toContain('Only one');
    expect(placementFault(placements)).toBeNull();
    expect(placementFault([{ facts: facts('b.wav'), target: { kind: 'nowhere' } }])).not.toBeNull();
  });

  test('every word that tells what a group holds tells where a file goes, and a bus set finds it there', () => {
    for (const role of ROLES) {
      for (const word of WORDS[role]) {
        const [placement] = guessPlacements(null, [facts(`01_${word} take 2.wav`)]);
        const made = place(newSession([facts('a')]), [placement!]).groups[0]!;
        const asked = role === 'backing vocal' ? 'lead vocal' : KIT.includes(role) ? 'drums' : role;
        expect(feeds(made, asked), `${word} in ${made.name}`).toBe(true);
      }
    }
  });

  test('goes to the group that holds the like, before one of its family', () => {
    const session = place(newSession(files), placements);
    const renamed = { ...session, groups: session.groups.map((group) => ({ ...group, name: `All ${group.name}` })) };
    const kit = addGroup(renamed, 'Cymbals');
    const goes = guessPlacements(
      kit,
      ['HiHat close.wav', 'Banjo.wav', 'Bass amp.wav'].map((path) => facts(path)),
    );
    expect(goes.map(({ target }) => target)).toEqual([
      { kind: 'group', id: 'cymbals' },
      { kind: 'new group', name: 'Guitars' },
      { kind: 'group', id: 'bass' },
    ]);
  });

  test('files of the same bytes are known as such, however they are called and wherever they differ', async () => {
    const bytes = new Uint8Array(3_000_000).map((_, n) => n % 251);
    const twin = new Blob([bytes]);
    expect(await haveSameContent(new Blob([bytes]), twin)).toBe(true);
    for (const at of [0, 1_499_999, 2_999_999]) {
      const other = bytes.with(at, bytes[at]! ^ 1);
      expect(await haveSameContent(new Blob([other]), twin), `${at}`).toBe(false);
    }
    expect(await haveSameContent(new Blob([bytes.subarray(1)]), twin)).toBe(false);
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
  const placed = place(newSession([facts('.wav')]), guessPlacements(null, [facts('.wav')]));
  expect(placed.tracks[0]!.name).toBe('Track');
});

test('left and right of one sound are put on their sides, 3.01 dB down, where the law of a mono track adds as much', () => {
  const sides = ['Pad L.wav', 'Pad R.wav'].map((path) => ({ ...facts(path), channels: 1 }));
  const { tracks } = place(newSession(sides), guessPlacements(null, sides));
  expect(tracks.map(({ pan }) => pan)).toEqual([-1, 1]);
  for (const { gainDb } of tracks) expect(gainDb).toBeCloseTo(-3.01, 2);
});

test('where the user put a file is where its like goes in the next song', () => {
  const files = [facts('03 Whistle take 2.wav'), facts('Kick.wav')];
  const guessed = guessPlacements(null, files);
  const put = guessed.with(0, { ...guessed[0]!, target: { kind: 'new group', name: 'Melodies' } });
  const kept = learned(null, guessed, put);
  expect(kept).toEqual([['whistle', 'Melodies']]);
  const [whistle] = guessPlacements(null, [facts('Whistle.wav')], new Map(kept));
  expect(whistle!.target).toEqual({ kind: 'new group', name: 'Melodies' });
});
