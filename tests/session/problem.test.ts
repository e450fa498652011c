import { expect, test } from 'vitest';
import { described, listed, ProblemError, sentenceOf, type ProblemCode } from '../../src/session/problem.ts';

const said = (code: ProblemCode, path: string, expected: string, found: string): string =>
  sentenceOf({ code, path, expected, found });

test('every code has a sentence that names the place and what to do', () => {
  const sentences = [
    said('unreadable', 'song.json', 'JSON', 'NaN at line 3, column 9'),
    said('unwritable', 'out/mix.wav', 'a folder that may be written to', 'one that may not'),
    said('missing-file', 'song.json: tracks[0].file', 'the sound of the track "Kick"', 'no file at /songs/kick.wav'),
    said('unknown-field', 'song.json: buses[0].blend', '"id", "name" or "blendDb"', '-3'),
    said('missing-field', 'song.json: tracks[1].group', 'a text', 'nothing'),
    said('wrong-type', 'song.json: tempo', 'a number', '"fast"'),
    said('out-of-range', 'song.json: buses[0].blendDb', 'between -90 and 24', '40'),
    said('unknown-version', 'song.json: version', 'version 1', '2'),
    said('unknown-processor', 'song.json: buses[0].chain[0].processor', '"eq" or "gain"', '"exciter"'),
    said('unknown-parameter', 'song.json: buses[0].chain[0].settings.gian', '"gain" or "polarity"', '3'),
    said('unknown-name', '--preset', '"drum squeeze" or "side spread"', '"dum squeeze"'),
    said('missing-target', 'song.json: buses[1].sends[0].to', 'a bus of this session ("plate")', '"plat"'),
    said('duplicate-id', 'song.json: buses[1].id', 'an id of its own', '"kick", which tracks[0] already has'),
    said('cycle', 'song.json: buses[1].sends[0].to', 'sends and keys that only lead onward', 'a -> b -> a'),
    said('too-short', 'click.wav', 'at least 2 samples', '1'),
    said('mismatch', 'song.json: format', '"tributary-session"', '"tributary-preset"'),
  ];
  expect(sentences).toMatchInlineSnapshot(`
    [
      "song.json cannot be read: expected JSON, found NaN at line 3, column 9.",
      "out/mix.wav cannot be written: expected a folder that may be written to, found one that may not.",
      "song.json: tracks[0].file is missing: expected the sound of the track "Kick", found no file at /songs/kick.wav.",
      "song.json: buses[0].blend is not a field that is known here: expected "id", "name" or "blendDb".",
      "song.json: tracks[1].group is missing: expected a text.",
      "song.json: tempo must be a number, not "fast".",
      "song.json: buses[0].blendDb must be between -90 and 24, not 40.",
      "song.json: version is 2, but this program reads version 1.",
      "song.json: buses[0].chain[0].processor must be "eq" or "gain", not "exciter".",
      "song.json: buses[0].chain[0].settings.gian is not a setting of this processor: expected "gain" or "polarity".",
      "--preset must be "drum squeeze" or "side spread", not "dum squeeze".",
      "song.json: buses[1].sends[0].to must name a bus of this session ("plate"), not "plat".",
      "song.json: buses[1].id must be an id of its own, not "kick", which tracks[0] already has.",
      "song.json: buses[1].sends[0].to leads sound back to where it came from (a -> b -> a): expected sends and keys that only lead onward.",
      "click.wav is too short: expected at least 2 samples, found 1.",
      "song.json: format does not fit: expected "tributary-session", found "tributary-preset".",
    ]
  `);
});

test('the error that is thrown says the same sentence', () => {
  const problem = { code: 'wrong-type', path: 'tempo', expected: 'a number', found: '"fast"' } as const;
  expect(new ProblemError(problem).message).toBe(sentenceOf(problem));
});

test('what was found is named briefly', () => {
  const long = 'x'.repeat(200);
  expect([undefined, null, 3, NaN, true, 'a "b"', [], [1], {}].map(described)).toEqual([
    'nothing',
    'null',
    '3',
    'NaN',
    'true',
    '"a \\"b\\""',
    'an empty list',
    'a list',
    'an object',
  ]);
  expect(described(long).length).toBeLessThan(45);
});

test('names are listed as a sentence does', () => {
  expect(listed([])).toBe('');
  expect(listed(['a'])).toBe('"a"');
  expect(listed(['a', 2, 'c'])).toBe('"a", 2 or "c"');
});
