import { expect, test } from 'vitest';
import {
  addProcessor,
  chainOf,
  moveIntoSplit,
  moveProcessor,
  removeProcessor,
  setLaw,
  setProcessorOn,
  setSetting,
  setSound,
  setMix,
  takeOutOfSplit,
  wrapInSplit,
} from '../../src/session/chain/chain-edits.ts';
import { allItems, isSplit } from '../../src/session/chain/chain-items.ts';
import { parseSession, problemsOf } from '../../src/session/read/parse.ts';
import { sentenceOf } from '../../src/session/problem.ts';
import type { ChainItem, Session } from '../../src/session/schema.ts';
import { chainRows, rowMoved } from '../../src/ui/workbench/chain-rows.ts';
import { problemFrom, sessionFileWith, smallSession } from '../helpers/session-file.ts';

const OWNER = 'echo';
const withThree = (): Session =>
  ['gain', 'eq', 'compressor'].reduce((session, id) => addProcessor(session, OWNER, id), smallSession());

/** "gain [eq compressor]". */
const shapeOf = (session: Session): string =>
  chainOf(session, OWNER)
    .map((item) => (isSplit(item) ? `[${item.split.map(({ id }) => id).join(' ')}]` : item.id))
    .join(' ');
const itemIn = (session: Session, id: string): ChainItem =>
  allItems(chainOf(session, OWNER)).find((item) => item.id === id)!;

test('processors go into a split and out of it again, in order, and an empty split is gone', () => {
  let session = wrapInSplit(withThree(), OWNER, 'eq');
  expect(shapeOf(session)).toBe('gain [eq] compressor');
  session = moveIntoSplit(session, OWNER, 'compressor', 'split');
  session = moveIntoSplit(session, OWNER, 'gain', 'split', 0);
  expect(shapeOf(session)).toBe('[gain eq compressor]');
  expect(shapeOf(moveProcessor(session, OWNER, 'gain', 2))).toBe('[eq compressor gain]');
  expect(shapeOf(takeOutOfSplit(session, OWNER, 'split'))).toBe('gain eq compressor');
  session = takeOutOfSplit(session, OWNER, 'gain');
  expect(shapeOf(session)).toBe('gain [eq compressor]');
  session = takeOutOfSplit(session, OWNER, 'compressor');
  expect(shapeOf(session)).toBe('gain [eq] compressor');
  expect(shapeOf(removeProcessor(session, OWNER, 'eq'))).toBe('gain compressor');
  expect(shapeOf(removeProcessor(session, OWNER, 'split'))).toBe('gain compressor');
  expect(problemsOf(session)).toEqual([]);
});

test('edits find what stands in a split, and ids are taken in the whole chain', () => {
  let session = wrapInSplit(withThree(), OWNER, 'eq');
  session = addProcessor(session, OWNER, 'eq', 0, 'split');
  expect(shapeOf(session)).toBe('gain [eq-2 eq] compressor');
  session = addProcessor(wrapInSplit(session, OWNER, 'gain'), OWNER, 'eq');
  expect(shapeOf(session)).toBe('[gain] [eq-2 eq] compressor eq-3');
  session = setSetting(session, OWNER, 'gain', 'gain', -4);
  session = setLaw(setMix(setProcessorOn(session, OWNER, 'eq', false), OWNER, 'eq', 30), OWNER, 'split', 'equal power');
  expect(itemIn(session, 'gain')).toMatchObject({ settings: { gain: -4 }, mix: 100, law: 'linear' });
  expect(itemIn(session, 'eq')).toMatchObject({ on: false, mix: 30, law: 'linear' });
  expect(itemIn(session, 'split')).toMatchObject({ law: 'equal power', mix: 100 });
  expect(setMix(session, OWNER, 'eq', 30)).toBe(session);
});

test('what a split or a share does not allow is refused with its place', () => {
  const session = wrapInSplit(withThree(), OWNER, 'eq');
  const said = (work: () => unknown): string => sentenceOf(problemFrom(work));
  expect(said(() => setMix(session, OWNER, 'eq', 101))).toBe(
    'buses[1].chain[1].split[0].mix must be between 0 and 100, not 101.',
  );
  expect(said(() => setSound(session, OWNER, 'eq', 'room.wav'))).toBe(
    'buses[1].chain[1].split[0].sound must be nothing, as "eq" works with no sound of its own, not "room.wav".',
  );
  expect(() => wrapInSplit(session, OWNER, 'eq')).toThrow(RangeError);
  expect(() => moveIntoSplit(session, OWNER, 'split', 'split')).toThrow(RangeError);
});

test('a file is told what is wrong with a split at its place', () => {
  const said = (chain: unknown): string =>
    sentenceOf(
      problemFrom(() => parseSession(JSON.stringify(sessionFileWith(['buses', 0, 'chain'], chain)), 's.json')),
    );
  const gain = { processor: 'gain' };
  expect([
    said([{ split: [gain, { processor: 'gain', settings: { gain: 99 } }] }]),
    said([{ id: 'gain', processor: 'gain' }, { split: [{ ...gain, id: 'gain' }] }]),
    said([{ split: [gain], mix: 120 }]),
    said([{ split: [gain], law: 'loud' }]),
    said([{ split: [] }]),
    said([{ split: [{ split: [gain] }] }]),
    said([{ split: [gain], settings: {} }]),
    said([{ processor: 'gain', mixx: 3 }]),
    said([{ on: true }]),
    said([7]),
  ]).toMatchInlineSnapshot(`
    [
      "s.json: buses[0].chain[0].split[1].settings.gain must be between -60 and 24 dB, not 99.",
      "s.json: buses[0].chain[1].split[0].id must be an id of its own, not "gain", which buses[0].chain[0] already has.",
      "s.json: buses[0].chain[0].mix must be between 0 and 100, not 120.",
      "s.json: buses[0].chain[0].law must be "linear" or "equal power", not "loud".",
      "s.json: buses[0].chain[0].split must be a list of at least 1 item, not 0.",
      "s.json: buses[0].chain[0].split[0].split is not a field that is known here: expected "id", "processor", "sound", "on", "mix", "law" or "settings".",
      "s.json: buses[0].chain[0].settings is not a field that is known here: expected "id", "on", "mix", "law" or "split".",
      "s.json: buses[0].chain[0].mixx is not a field that is known here: expected "id", "processor", "sound", "on", "mix", "law" or "settings".",
      "s.json: buses[0].chain[0].processor is missing: expected a text.",
      "s.json: buses[0].chain[0] must be an object, not 7.",
    ]
  `);
});

test('a line of the list is put where another stands, into splits and out of them', () => {
  const session = wrapInSplit(withThree(), OWNER, 'eq');
  expect(chainRows(chainOf(session, OWNER)).map(({ number, item }) => `${number} ${item.id}`)).toEqual([
    '1 gain',
    '2 split',
    '2.1 eq',
    '3 compressor',
  ]);
  const moved = (from: number, to: number): string => shapeOf(rowMoved(session, OWNER, from, to));
  expect(moved(0, 1)).toBe('[gain eq] compressor');
  expect(moved(0, 2)).toBe('[eq gain] compressor');
  expect(moved(0, 3)).toBe('[eq] compressor gain');
  expect(moved(3, 2)).toBe('gain [compressor eq]');
  expect(moved(3, 1)).toBe('gain compressor [eq]');
  expect(moved(1, 0)).toBe('[eq] gain compressor');
  expect(moved(1, 3)).toBe('gain compressor [eq]');
  expect(moved(1, 2)).toBe('gain [eq] compressor');
  expect(moved(2, 0)).toBe('eq gain compressor');
  expect(moved(2, 3)).toBe('gain compressor eq');
});
