import fc from 'fast-check';
import { expect, test } from 'vitest';
import { isTakenEverywhere, fileWords, FreeNames, nameOf } from '../../../src/files/print/print-names.ts';
import { casesOf } from '../../helpers/soak.ts';

// What file systems refuse: Microsoft, "Naming Files, Paths, and Namespaces"; 255 bytes or UTF-16 units in common ones.

test('names of devices, signs that are refused, and dots and blanks at the ends do not reach the disk', () => {
  for (const [words, name] of [
    ['CON', 'CON_'],
    ['com1.mix', 'com1_.mix'],
    ['Lpt9', 'Lpt9_'],
    ['Console', 'Console'],
    ['AC/DC: "Live" <1>|2?*', 'AC DC Live 1 2'],
    ['..\\..\\secret', 'secret'],
    [' .hidden. . ', 'hidden'],
    ['tab\there\u0000', 'tab here'],
    ['', 'fallback'],
    ['***', 'fallback'],
    // Two ways to write one letter are one name.
    ['Cafe\u0301', 'Caf\u00e9'],
  ])
    expect(fileWords(words!, 'fallback')).toBe(name);
});

test('paths that some system would refuse or change are known', () => {
  expect(['audio/kick.wav', 'lists/tempo and sections.mid', 'a/Où.wav'].map(isTakenEverywhere)).toEqual([
    true,
    true,
    true,
  ]);
  expect(['audio/CON.wav', 'a.wav:x', 'audio/a. ', 'a//b'].map(isTakenEverywhere)).toEqual([
    false,
    false,
    false,
    false,
  ]);
});

test('whatever the words, the name is taken by every system, and leaves room for endings', () => {
  fc.assert(
    fc.property(fc.string({ unit: 'grapheme', maxLength: 400 }), (words) => {
      const name = fileWords(words, 'mix');
      expect(new TextEncoder().encode(name).length).toBeLessThanOrEqual(204);
      expect(name).not.toMatch(/[\p{Cc}\\/:*?"<>|]|^[ .]|[ .]$/u);
      expect(name).not.toMatch(/^(con|prn|aux|nul|com[0-9]|lpt[0-9])(\.|$)/i);
      // Letters that are half of a pair cannot be written as UTF-8.
      expect(new TextDecoder().decode(new TextEncoder().encode(name))).toBe(name);
    }),
    { numRuns: casesOf(50, 2000) },
  );
});

test('what a template names and there is nothing to tell of goes with the signs before it', () => {
  const facts = {
    ...{ title: 'Song', artist: '', kind: 'main', pass: '', section: '', target: '', date: '2026-12-01' },
    ...{ rate: '48 kHz', bits: '24 bit', loudness: '-14.0 LUFS' },
  };
  expect(nameOf('{artist} - {title} - {pass} - {kind}_{target}', facts)).toBe('Song - main');
  expect(nameOf('{date} {title} {kind} {rate} {bits} {loudness}', facts)).toBe(
    '2026-12-01 Song main 48 kHz 24 bit -14.0 LUFS',
  );
  expect(nameOf(null, facts)).toBe('Song');
  expect(nameOf(null, { ...facts, kind: 'Drums', pass: 'Second', section: 'Verse', target: 'peak' })).toBe(
    'Song - Second - Verse - Drums - peak',
  );
});

test('no name is given twice, whatever its letters’ case', () => {
  const free = new FreeNames();
  expect(['Keys', 'keys', 'KEYS', 'Bass'].map((name) => free.take(name))).toEqual([
    'Keys',
    'keys (2)',
    'KEYS (3)',
    'Bass',
  ]);
});
