import fc from 'fast-check';
import { expect, test } from 'vitest';
import { COMMON_NOTE_VALUES, noteMs, parseNoteValue } from '../../src/session/note-values.ts';

const note = (count: number, of: number, feel: 'straight' | 'dotted' | 'triplet') => ({
  kind: 'note',
  count,
  note: of,
  feel,
});

test.each([
  ['1/4', note(1, 4, 'straight')],
  ['  1/8   Dotted ', note(1, 8, 'dotted')],
  ['1/8 TRIPLET', note(1, 8, 'triplet')],
  ['3/16', note(3, 16, 'straight')],
  ['1 bar', { kind: 'bars', count: 1 }],
  ['2 BARS', { kind: 'bars', count: 2 }],
  ['2 bar', { kind: 'bars', count: 2 }],
])('%j is read as the note value that it names', (text, value) => {
  expect(parseNoteValue(text)).toEqual(value);
});

test.each([
  '',
  '1',
  '0/4',
  '1/3',
  '1/0',
  '-1/4',
  '1/8dotted',
  '1/8 swung',
  '1/8 dotted triplet',
  '0 bars',
  '1/4 bar',
  '250',
])('%j is no note value', (text) => {
  expect(parseNoteValue(text)).toBeNull();
});

const notes = fc.oneof(
  fc.record({
    kind: fc.constant('note' as const),
    count: fc.integer({ min: 1, max: 99 }),
    note: fc.constantFrom(1, 2, 4, 8, 16, 32, 64),
    feel: fc.constantFrom('straight' as const, 'dotted' as const, 'triplet' as const),
  }),
  fc.record({ kind: fc.constant('bars' as const), count: fc.integer({ min: 1, max: 99 }) }),
);

test('twice the tempo is half the time', () => {
  fc.assert(
    fc.property(notes, fc.double({ min: 20, max: 200, noNaN: true }), (note, tempo) => {
      const ratio = noteMs(note, tempo, [4, 4]) / noteMs(note, 2 * tempo, [4, 4]);
      expect(ratio).toBeCloseTo(2, 12);
    }),
  );
});

test('the note values of the menu are readable and run from short to long', () => {
  const lengths = COMMON_NOTE_VALUES.map((text) => noteMs(parseNoteValue(text)!, 120, [4, 4]));
  expect(lengths).toEqual([...lengths].sort((a, b) => a - b));
});
