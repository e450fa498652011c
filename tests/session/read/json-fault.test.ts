import fc from 'fast-check';
import { expect, test } from 'vitest';
import { jsonFault } from '../../../src/session/read/json-fault.ts';
import { casesOf } from '../../helpers/soak.ts';

const isJson = (text: string): boolean => {
  try {
    JSON.parse(text);
    return true;
  } catch {
    return false;
  }
};

/** JSON, whole or with a piece of it replaced by something else. */
const texts = fc
  .tuple(
    fc.json(),
    fc.nat(),
    fc.nat(3),
    fc.constantFrom('', ',', ']', '}', '"', 'NaN', '01', '1.', '-', 'tru', ':', '\n', '\\', '\u0001'),
  )
  .map(([json, at, length, piece]) => {
    const start = at % (json.length + 1);
    return json.slice(0, start) + piece + json.slice(start + length);
  });

test('it finds a fault exactly where the engine’s own reader refuses', () => {
  fc.assert(
    fc.property(fc.oneof(texts, fc.json(), fc.string()), (text) => {
      expect(jsonFault(text) === null).toBe(isJson(text));
    }),
    { numRuns: casesOf(300, 2000) },
  );
});

test.each([
  ['{"a": 1,\r\n "b": NaN}', { line: 2, column: 7, found: 'NaN' }],
  ['[1, 2', { line: 1, column: 6, found: 'the end of the text' }],
  ['{"a" 1}', { line: 1, column: 6, found: '1' }],
  ['{a: 1}', { line: 1, column: 2, found: 'a' }],
  ['[1 2]', { line: 1, column: 4, found: '2' }],
  ['[1}', { line: 1, column: 3, found: '}' }],
  ['\u0000\u0000', { line: 1, column: 1, found: 'the character U+0000' }],
  ['[1.5e400, .5]', { line: 1, column: 11, found: '.5' }],
])('in %j the fault is told by its place', (text, fault) => {
  expect(jsonFault(text)).toEqual(fault);
});

test('brackets nested a hundred thousand deep do no harm', () => {
  expect(jsonFault('['.repeat(100_000))).toMatchObject({ column: 100_001 });
});
