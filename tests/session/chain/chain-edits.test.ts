import { expect, test } from 'vitest';
import { processorOf, processors } from '../../../src/dsp/core/registry.ts';
import {
  addProcessor,
  chainOf,
  MIX,
  moveProcessor,
  removeProcessor,
  setChain,
  setProcessorOn,
  setSetting,
  turnPolarity,
} from '../../../src/session/chain/chain-edits.ts';
import { problemsOf } from '../../../src/session/read/parse.ts';
import { sentenceOf } from '../../../src/session/problem.ts';
import { firstProcessor, processorItem } from '../../helpers/chain-items.ts';
import { problemFrom, smallSession } from '../../helpers/session-file.ts';

const session = smallSession();
const ids = (from: typeof session, owner: string) => chainOf(from, owner).map(({ id }) => id);

test.each(['kick', 'drums', 'echo', MIX])('a chain of %s grows, is reordered and shrinks', (owner) => {
  let edited = session;
  for (const at of [undefined, undefined, 0]) edited = addProcessor(edited, owner, 'gain', at);
  expect(ids(edited, owner)).toEqual(['gain-3', 'gain', 'gain-2']);
  expect(ids(moveProcessor(edited, owner, 'gain-3', 2), owner)).toEqual(['gain', 'gain-2', 'gain-3']);
  expect(ids(moveProcessor(edited, owner, 'gain-2', -5), owner)).toEqual(['gain-2', 'gain-3', 'gain']);
  expect(moveProcessor(edited, owner, 'gain', 1)).toBe(edited);
  edited = removeProcessor(edited, owner, 'gain');
  expect(ids(edited, owner)).toEqual(['gain-3', 'gain-2']);
  expect(ids(addProcessor(edited, owner, 'gain'), owner)).toEqual(['gain-3', 'gain-2', 'gain']);
  expect(problemsOf(edited)).toEqual([]);
  expect(chainOf(session, owner)).toEqual([]);
});

test('every processor starts with its start settings, and they are valid', () => {
  for (const id of processors.keys()) {
    const [item] = chainOf(addProcessor(session, MIX, id), MIX);
    expect(item).toEqual(processorItem(id, { settings: { ...processorOf(id).start } }));
  }
});

test('a setting is set, others stay, and the same setting again is the same session', () => {
  const set = setSetting(session, 'squeeze', 'gain', 'polarity', 'inverted');
  expect(firstProcessor(chainOf(set, 'squeeze')).settings).toEqual({ gain: 3, polarity: 'inverted' });
  expect(setSetting(set, 'squeeze', 'gain', 'polarity', 'inverted')).toBe(set);
  expect(set.groups).toBe(session.groups);
});

test('a setting that its parameter does not allow is refused with its place', () => {
  const said = (parameter: string, setting: string | number) =>
    sentenceOf(problemFrom(() => setSetting(session, 'squeeze', 'gain', parameter, setting)));
  expect([said('gain', 99), said('gain', NaN), said('polarity', 'sideways')]).toMatchInlineSnapshot(`
    [
      "buses[0].chain[0].settings.gain must be between -60 and 24 dB, not 99.",
      "buses[0].chain[0].settings.gain must be between -60 and 24 dB, not NaN.",
      "buses[0].chain[0].settings.polarity must be "normal", "inverted", "left inverted" or "right inverted", not "sideways".",
    ]
  `);
});

test('a processor is switched off and stays in its place', () => {
  const off = setProcessorOn(session, 'squeeze', 'gain', false);
  expect(chainOf(off, 'squeeze')).toEqual([processorItem('gain', { on: false, settings: { gain: 3 } })]);
});

test('a laid chain replaces the old one; a chain that is too long is refused', () => {
  const item = processorItem('gain', { id: 'a' });
  expect(ids(setChain(session, 'squeeze', [item]), 'squeeze')).toEqual(['a']);
  const long = Array.from({ length: 33 }, (_, n) => ({ ...item, id: `a${n}` }));
  expect(sentenceOf(problemFrom(() => setChain(session, 'squeeze', long)))).toMatchInlineSnapshot(
    `"buses[0].chain must be a list of at most 32 items, not 33."`,
  );
});

test('naming what is not there is a mistake of the program, not of its user', () => {
  expect(() => addProcessor(session, 'nothing', 'gain')).toThrow(RangeError);
  expect(() => addProcessor(session, 'squeeze', 'loudener')).toThrow(RangeError);
  expect(() => removeProcessor(session, 'squeeze', 'gain-9')).toThrow(RangeError);
  expect(() => setSetting(session, 'squeeze', 'gain', 'gian', 3)).toThrow(RangeError);
});

test('polarity is turned over and back by one gain at the end of the chain', () => {
  const bus = session.buses[0]!.id;
  const plain = setChain(session, bus, [processorItem('compressor')]);
  const before = 1;
  const turned = turnPolarity(plain, bus);
  expect(chainOf(turned, bus)).toHaveLength(before + 1);
  expect(chainOf(turned, bus).at(-1)).toMatchObject({ processor: 'gain', settings: { polarity: 'inverted' } });
  const back = turnPolarity(turned, bus);
  expect(chainOf(back, bus)).toHaveLength(before + 1);
  expect(chainOf(back, bus).at(-1)).toMatchObject({ settings: { polarity: 'normal' } });
  const off = turnPolarity(setProcessorOn(turned, bus, chainOf(turned, bus).at(-1)!.id, false), bus);
  expect(chainOf(off, bus)).toHaveLength(before + 2);
});
