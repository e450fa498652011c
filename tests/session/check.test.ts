import { expect, test } from 'vitest';
import { parseSession, problemsOf } from '../../src/session/read/parse.ts';
import { sentenceOf } from '../../src/session/problem.ts';
import type { JsonPath } from '../../src/session/read/reading-order.ts';
import { problemFrom, sessionFile, sessionFileWith } from '../helpers/session-file.ts';

const said = (path: JsonPath, value: unknown): string =>
  sentenceOf(problemFrom(() => parseSession(JSON.stringify(sessionFileWith(path, value)), 'song.json')));

const voice = { id: 'voice', name: 'Voice', file: 'tracks/voice.wav', group: 'voices' };

const all = (file: unknown): string[] => problemsOf(file).map(({ code, path, found }) => `${code} ${path}: ${found}`);

test('processors and settings are held against their definitions', () => {
  expect([
    said(['buses', 0, 'chain', 0, 'settings', 'gian'], 3),
    said(['buses', 0, 'chain', 0, 'settings', 'constructor'], 3),
    said(['buses', 0, 'chain', 0, 'settings', 'odd name'], 3),
    said(['buses', 0, 'chain', 0, 'settings', 'gain'], 80),
    said(['buses', 0, 'chain', 0, 'settings', 'gain'], 'loud'),
    said(['buses', 0, 'chain', 0, 'settings', 'gain'], '1/8'),
    said(['buses', 0, 'chain', 0, 'settings', 'gain'], true),
    said(['buses', 0, 'chain', 0, 'settings', 'polarity'], 'sideways'),
    said(['buses', 0, 'chain', 0, 'settings', 'polarity'], 1),
  ]).toMatchInlineSnapshot(`
    [
      "song.json: buses[0].chain[0].settings.gian is not a setting of this processor: expected "gain" or "polarity".",
      "song.json: buses[0].chain[0].settings.constructor is not a setting of this processor: expected "gain" or "polarity".",
      "song.json: buses[0].chain[0].settings["odd name"] is not a setting of this processor: expected "gain" or "polarity".",
      "song.json: buses[0].chain[0].settings.gain must be between -60 and 24 dB, not 80.",
      "song.json: buses[0].chain[0].settings.gain must be a number between -60 and 24 dB, not "loud".",
      "song.json: buses[0].chain[0].settings.gain must be a number between -60 and 24 dB, not "1/8".",
      "song.json: buses[0].chain[0].settings.gain must be a number between -60 and 24 dB, not true.",
      "song.json: buses[0].chain[0].settings.polarity must be "normal", "inverted", "left inverted" or "right inverted", not "sideways".",
      "song.json: buses[0].chain[0].settings.polarity must be "normal", "inverted", "left inverted" or "right inverted", not 1.",
    ]
  `);
});

test('an unknown setting of a processor that has many is told with the nearest three', () => {
  const chain = [{ processor: 'eq', settings: { 'band2.gian': 3 } }];
  const problem = problemFrom(() => parseSession(JSON.stringify(sessionFileWith(['mixBus'], { chain })), 'song.json'));
  expect(problem).toMatchObject({
    code: 'unknown-parameter',
    path: 'song.json: mixBus.chain[0].settings["band2.gian"]',
    expected: expect.stringMatching(/^one of its \d+, such as "band2\.gain", "[^"]+" or "[^"]+"$/) as string,
  });
});

test('an unknown processor is told with the names that there are', () => {
  const problem = problemFrom(() =>
    parseSession(JSON.stringify(sessionFileWith(['mixBus'], { chain: [{ processor: 'loudener' }] })), 'song.json'),
  );
  expect(problem).toMatchObject({
    code: 'unknown-processor',
    path: 'song.json: mixBus.chain[0].processor',
    found: '"loudener"',
  });
  expect(problem.expected).toContain('"gain"');
});

test('NaN in a setting of a session in memory is found', () => {
  expect(all(sessionFileWith(['buses', 0, 'chain', 0, 'settings', 'gain'], NaN))).toEqual([
    'wrong-type buses[0].chain[0].settings.gain: NaN',
  ]);
});

test('what is named must exist and be of the right kind', () => {
  expect([
    said(['tracks', 0, 'group'], 'drms'),
    said(['tracks', 0, 'group'], 'squeeze'),
    said(['groups', 0, 'sends', 0, 'to'], 'squish'),
    said(['groups', 0, 'sends', 0, 'to'], 'voices'),
    said(['groups', 0, 'sends', 0, 'to'], 'kick'),
    said(['buses', 0, 'key'], 'snare'),
    said(['buses'], []),
  ]).toMatchInlineSnapshot(`
    [
      "song.json: tracks[0].group must name a group of this session ("drums" or "voices"), not "drms".",
      "song.json: tracks[0].group must name a group of this session ("drums" or "voices"), not "squeeze", which is a bus.",
      "song.json: groups[0].sends[0].to must name a bus of this session ("squeeze", "echo" or "plate"), not "squish".",
      "song.json: groups[0].sends[0].to must name a bus of this session ("squeeze", "echo" or "plate"), not "voices", which is a group.",
      "song.json: groups[0].sends[0].to must name a bus of this session ("squeeze", "echo" or "plate"), not "kick", which is a track.",
      "song.json: buses[0].key must name a track or a group or a bus of this session ("kick", "voice", "drums", "voices", "squeeze", "echo" or "plate"), not "snare".",
      "song.json: groups[0].sends[0].to must name a bus of this session (there is none yet), not "squeeze".",
    ]
  `);
});

test('tracks, groups and buses share one name space, and some names have a meaning of their own', () => {
  expect([
    said(['tracks', 1, 'id'], 'kick'),
    said(['buses', 3], { id: 'kick', name: 'Kick again' }),
    said(['tracks', 1, 'id'], 'mix'),
    said(['tracks', 1, 'id'], 'rough'),
    said(['tracks', 1, 'id'], 'received'),
    said(
      ['buses', 2, 'chain'],
      [
        { id: 'a', processor: 'gain' },
        { id: 'a', processor: 'gain' },
      ],
    ),
    said(['groups', 0, 'sends'], [{ to: 'squeeze' }, { to: 'squeeze', tap: 'pre-fader' }]),
  ]).toMatchInlineSnapshot(`
    [
      "song.json: tracks[1].id must be an id of its own, not "kick", which tracks[0] already has.",
      "song.json: buses[3].id must be an id of its own, not "kick", which tracks[0] already has.",
      "song.json: tracks[1].id must be an id of its own, not "mix", which has a meaning of its own.",
      "song.json: tracks[1].id must be an id of its own, not "rough", which has a meaning of its own.",
      "song.json: tracks[1].id must be an id of its own, not "received", which has a meaning of its own.",
      "song.json: buses[2].chain[1].id must be an id of its own, not "a", which buses[2].chain[0] already has.",
      "song.json: groups[0].sends[1].to must be a bus not fed yet, not "squeeze", which groups[0].sends[0] already feeds.",
    ]
  `);
});

test('an id given twice is the one problem: what names it is judged by its kind', () => {
  const file = sessionFile() as Record<'tracks' | 'groups', Record<string, unknown>[]>;
  file.groups[0]!['id'] = 'kick';
  file.tracks[0]!['group'] = 'kick';
  expect(all(file)).toEqual(['duplicate-id groups[0].id: "kick", which tracks[0] already has']);
});

test('a cycle of sends is told with its round trip, at the edge that closes it', () => {
  expect(said(['buses', 2, 'sends'], [{ to: 'echo' }])).toMatchInlineSnapshot(
    `"song.json: buses[2].sends[0].to leads sound back to where it came from (echo -> plate -> echo): expected sends and keys that only lead onward."`,
  );
  expect(said(['buses', 2, 'sends'], [{ to: 'plate' }])).toMatchInlineSnapshot(
    `"song.json: buses[2].sends[0].to leads sound back to where it came from (plate -> plate): expected sends and keys that only lead onward."`,
  );
});

test('a cycle through a key, or through a send that is off, is a cycle too', () => {
  expect(all(sessionFileWith(['buses', 1, 'key'], 'plate'))).toEqual(['cycle buses[1].key: echo -> plate -> echo']);
  expect(all(sessionFileWith(['groups', 0, 'key'], 'squeeze'))).toEqual([
    'cycle groups[0].key: drums -> squeeze -> drums',
  ]);
  expect(all(sessionFileWith(['buses', 2, 'sends'], [{ to: 'echo', on: false }]))).toHaveLength(1);
});

test('tracks and the rough feed buses and have keys under the same rules as groups', () => {
  const rough = (sends: unknown[]) => said(['rough'], { file: 'rough.wav', sends });
  expect([
    said(['tracks', 0, 'sends'], [{ to: 'drums' }]),
    said(['tracks', 0, 'sends'], [{ to: 'plate' }, { to: 'plate' }]),
    said(['tracks', 0, 'key'], 'drums'),
    said(['tracks', 1, 'key'], 'rough'),
    rough([{ to: 'kick' }]),
    rough([{ to: 'plate' }, { to: 'plate' }]),
  ]).toMatchInlineSnapshot(`
    [
      "song.json: tracks[0].sends[0].to must name a bus of this session ("squeeze", "echo" or "plate"), not "drums", which is a group.",
      "song.json: tracks[0].sends[1].to must be a bus not fed yet, not "plate", which tracks[0].sends[0] already feeds.",
      "song.json: tracks[0].key leads sound back to where it came from (kick -> drums -> kick): expected sends and keys that only lead onward.",
      "song.json: tracks[1].key must name a track or a group or a bus of this session ("kick", "voice", "drums", "voices", "squeeze", "echo" or "plate"), not "rough".",
      "song.json: rough.sends[0].to must name a bus of this session ("squeeze", "echo" or "plate"), not "kick", which is a track.",
      "song.json: rough.sends[1].to must be a bus not fed yet, not "plate", which rough.sends[0] already feeds.",
    ]
  `);
  const file = sessionFileWith(['tracks', 1], { ...voice, key: 'drums', sends: [{ to: 'plate', tap: 'pre-fader' }] });
  expect(all(file)).toEqual([]);
  expect(all(sessionFileWith(['tracks', 0, 'sends'], [{ to: 'squeeze' }]))).toEqual([]);
});

test('two ways to one bus and a key from upstream are no cycles', () => {
  const file = sessionFileWith(['groups', 1, 'sends'], [{ to: 'echo' }, { to: 'plate' }]) as {
    buses: Record<string, unknown>[];
  };
  file.buses[2]!['key'] = 'voice';
  file.buses[0]!['key'] = 'drums';
  expect(all(file)).toEqual([]);
});

test('a section ends after it starts', () => {
  expect(said(['sections', 0], { name: 'Chorus', startSeconds: 8, endSeconds: 8 })).toMatchInlineSnapshot(
    `"song.json: sections[0].endSeconds must be later than its start, 8, not 8."`,
  );
});

test('all problems come in reading order', () => {
  const file = sessionFile() as Record<'tracks' | 'groups' | 'buses' | 'sections', Record<string, unknown>[]>;
  file.buses[2]!['sends'] = [{ to: 'echo' }];
  file.buses[0]!['chain'] = [{ processor: 'loudener' }];
  file.groups[1]!['sends'] = [{ to: 'nowhere' }, { to: 'echo' }, { to: 'echo' }];
  file.sections[0]!['endSeconds'] = 0;
  expect(problemsOf(file).map(({ path }) => path)).toEqual([
    'sections[0].endSeconds',
    'groups[1].sends[0].to',
    'groups[1].sends[2].to',
    'buses[0].chain[0].processor',
    'buses[2].sends[0].to',
  ]);
});
