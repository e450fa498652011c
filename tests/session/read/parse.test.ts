import { expect, test } from 'vitest';
import { parseSession, problemsOf } from '../../../src/session/read/parse.ts';
import { sentenceOf } from '../../../src/session/problem.ts';
import type { JsonPath } from '../../../src/session/read/reading-order.ts';
import { problemFrom, sessionFile, sessionFileWith, smallSession } from '../../helpers/session-file.ts';

/** What a user reads when the small session holds `value` at `path`. */
const said = (path: JsonPath, value: unknown): string =>
  sentenceOf(problemFrom(() => parseSession(JSON.stringify(sessionFileWith(path, value)), 'song.json')));

/** What a user reads of a text that should be a session. */
const saidOf = (text: string): string => sentenceOf(problemFrom(() => parseSession(text, 'song.json')));

test('a session file takes the defaults of what it leaves out', () => {
  const session = smallSession();
  expect(session.tracks[0]).toEqual({
    id: 'kick',
    name: 'Kick',
    file: 'tracks/kick.wav',
    group: 'drums',
    on: true,
    gainDb: 0,
    pan: 0,
    channels: 'stereo',
    polarity: 'normal',
    offsetSeconds: 0,
    chain: [],
    key: null,
    sends: [],
  });
  expect(session.groups[0]?.sends).toEqual([{ to: 'squeeze', levelDb: 0, tap: 'post-fader', on: true }]);
  expect(session.mixBus).toEqual({ trimDb: 0, chain: [] });
  expect(problemsOf(sessionFile())).toEqual([]);
});

test('chain items without an id are named after their processor, around the ids that are given', () => {
  const chain = [
    { processor: 'gain' },
    { processor: 'gain' },
    { id: 'gain-2', processor: 'gain' },
    { processor: 'gain' },
  ];
  const session = parseSession(JSON.stringify(sessionFileWith(['buses', 0, 'chain'], chain)), 'song.json');
  expect(session.buses[0]?.chain.map(({ id }) => id)).toEqual(['gain', 'gain-3', 'gain-2', 'gain-4']);
});

test('a mark in front of the text that some editors write does not matter', () => {
  expect(parseSession(`\uFEFF${JSON.stringify(sessionFile())}`, 'song.json')).toEqual(smallSession());
});

test('what is not JSON is said with line, column and what stood there', () => {
  const text = JSON.stringify(sessionFile(), null, 2);
  expect([
    saidOf(''),
    saidOf('  \n'),
    saidOf('This is a text file.'),
    saidOf(text.replace('"tempo": 120', '"tempo": NaN')),
    saidOf(text.replace('"tempo": 120', '"tempo": -Infinity')),
    saidOf(text.replace('"blendDb": -14\n', '"blendDb": -14,\n')),
    saidOf(text.slice(0, 60)),
    saidOf(`${text}}`),
    saidOf(text.replace('"Kick"', "'Kick'")),
    saidOf(text.replace('"Kick"', '"Ki\nck"')),
    saidOf(text.replace('120', '0120')),
  ]).toMatchInlineSnapshot(`
    [
      "song.json cannot be read: expected JSON, found an empty file.",
      "song.json cannot be read: expected JSON, found an empty file.",
      "song.json cannot be read: expected JSON, found This at line 1, column 1.",
      "song.json cannot be read: expected JSON, found NaN at line 6, column 12.",
      "song.json cannot be read: expected JSON, found -Infinity at line 6, column 12.",
      "song.json cannot be read: expected JSON, found } at line 79, column 5.",
      "song.json cannot be read: expected JSON, found the end of the text at line 4, column 10.",
      "song.json cannot be read: expected JSON, found } at line 81, column 2.",
      "song.json cannot be read: expected JSON, found ' at line 17, column 15.",
      "song.json cannot be read: expected JSON, found " at line 17, column 15.",
      "song.json cannot be read: expected JSON, found 0120 at line 6, column 12.",
    ]
  `);
});

test('what has the wrong shape is said by its place', () => {
  expect([
    saidOf('[]'),
    saidOf('{}'),
    saidOf('{"name": "some-package", "version": "0.1.0"}'),
    said(['format'], 'tributary-preset'),
    said(['version'], 5),
    said(['version'], undefined),
    said(['colour'], 'red'),
    said(['buses', 2, 'blend db'], -3),
    said(['tempo'], 'fast'),
    said(['tempo'], 900),
    said(['sampleRate'], 44_100.5),
    said(['sampleRate'], undefined),
    said(['tracks'], { kick: 'kick.wav' }),
    said(['tracks', 1, 'group'], undefined),
    said(['tracks', 1, 'pan'], 1.5),
    said(['tracks', 1, 'name'], ''),
    said(['tracks', 1, 'file'], '/home/me/voice.wav'),
    said(['tracks', 1, 'polarity'], 'upside down'),
    said(['tracks', 1, 'id'], 'Lead Voice'),
    said(['meter'], [4]),
    said(['meter'], [4, 5]),
    said(['buses', 0, 'chain', 0, 'settings', 'gain'], null),
    said(['buses', 0, 'on'], 1),
    said(['groups', 0, 'sends', 0, 'levelDb'], null),
    said(
      ['buses'],
      Array.from({ length: 33 }, (_, n) => ({ id: `b${n}`, name: 'B' })),
    ),
  ]).toMatchInlineSnapshot(`
    [
      "song.json must be an object, not an empty list.",
      "song.json: format is missing: expected "tributary-session".",
      "song.json: format is missing: expected "tributary-session".",
      "song.json: format does not fit: expected "tributary-session", found "tributary-preset".",
      "song.json: version is 5, but this program reads version 4.",
      "song.json: version is missing: expected version 4.",
      "song.json: colour is not a field that is known here: expected "format", "version", "title", "artist", "notes", "sampleRate", "tempo", "meter", "tempoChanges", "meterChanges", "panLaw", "rough", "sections", "markers", "receivedBalance", "tracks", "groups", "buses", "mixBus", "lines", "guards", "passes", "trials" or "clientNotes".",
      "song.json: buses[2]["blend db"] is not a field that is known here: expected "id", "name", "hue", "on", "chain", "key", "blendDb", "sends" or "soloSafe".",
      "song.json: tempo must be a number, not "fast".",
      "song.json: tempo must be between 20 and 400, not 900.",
      "song.json: sampleRate must be a whole number, not 44100.5.",
      "song.json: sampleRate is missing: expected a number.",
      "song.json: tracks must be a list, not an object.",
      "song.json: tracks[1].group is missing: expected a text.",
      "song.json: tracks[1].pan must be between -1 and 1, not 1.5.",
      "song.json: tracks[1].name must be a text that is not empty, not "".",
      "song.json: tracks[1].file must be a path relative to the session file, with forward slashes, not "/home/me/voice.wav".",
      "song.json: tracks[1].polarity must be "normal", "inverted", "left inverted" or "right inverted", not "upside down".",
      "song.json: tracks[1].id must be an id of small letters, digits and hyphens, not "Lead Voice".",
      "song.json: meter must be a list of at least 2 items, not 1.",
      "song.json: meter[1] must be 1, 2, 4, 8 or 16, not 5.",
      "song.json: buses[0].chain[0].settings.gain must be a number or a text or true or false, not null.",
      "song.json: buses[0].on must be true or false, not 1.",
      "song.json: groups[0].sends[0].levelDb must be a number, not null.",
      "song.json: buses must be a list of at most 32 items, not 33.",
    ]
  `);
});

test('a number too large for JSON’s readers is no number', () => {
  const text = JSON.stringify(sessionFile()).replace('"tempo":120', '"tempo":1e999');
  expect(saidOf(text)).toMatchInlineSnapshot(`"song.json: tempo must be a number, not Infinity."`);
});

test('the app gets all problems, in reading order, and NaN is one of them', () => {
  const file = sessionFile() as { tempo: number; tracks: Record<string, unknown>[]; buses: Record<string, unknown>[] };
  file.buses[1]!['blendDb'] = 50;
  file.tempo = NaN;
  file.tracks[0]!['solo'] = true;
  delete file.tracks[0]!['file'];
  expect(problemsOf(file).map(({ code, path }) => `${code} ${path}`)).toEqual([
    'wrong-type tempo',
    'unknown-field tracks[0].solo',
    'missing-field tracks[0].file',
    'out-of-range buses[1].blendDb',
  ]);
});

test('another version ends the reading: nothing else in the file is judged', () => {
  const file = { ...(sessionFile() as object), version: 5, tracks: 'later' };
  expect(problemsOf(file).map(({ code }) => code)).toEqual(['unknown-version']);
});
