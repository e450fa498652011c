import { expect, test } from 'vitest';
import { setBlend } from '../../src/session/edits/edits.ts';
import { endGesture, record, redo, redoLabel, startHistory, undo, undoLabel } from '../../src/session/history.ts';
import { smallSession } from '../helpers/session-file.ts';

const blend = (db: number) => setBlend(smallSession(), 'squeeze', db);

test('undo takes back the last step and redo does it again, each with its label', () => {
  const start = startHistory(smallSession());
  const louder = blend(-3);
  const moved = record(start, louder, 'blend Squeeze');
  expect([undoLabel(moved), redoLabel(moved)]).toEqual(['blend Squeeze', null]);
  const back = undo(moved);
  expect(back.present).toBe(start.present);
  expect([undoLabel(back), redoLabel(back)]).toEqual([null, 'blend Squeeze']);
  const again = redo(back);
  expect(again.present).toBe(louder);
  expect([undoLabel(again), redoLabel(again)]).toEqual(['blend Squeeze', null]);
});

test('the moves of one gesture are one step; the next gesture of the same control is another', () => {
  const start = startHistory(smallSession());
  let history = start;
  for (const db of [-7, -6, -5]) history = record(history, blend(db), 'blend Squeeze', 'blend squeeze');
  expect(history.past).toHaveLength(1);
  history = endGesture(history);
  for (const db of [-4, -3]) history = record(history, blend(db), 'blend Squeeze', 'blend squeeze');
  expect(history.past).toHaveLength(2);
  expect(undo(history).present.buses[0]?.blendDb).toBe(-5);
  expect(undo(undo(history)).present).toBe(start.present);
});

test('after undo a gesture does not go on, and a new step takes the way forward', () => {
  let history = record(startHistory(smallSession()), blend(-7), 'blend Squeeze', 'blend squeeze');
  history = undo(history);
  history = record(history, blend(-2), 'blend Squeeze', 'blend squeeze');
  expect(history.past).toHaveLength(1);
  expect(redoLabel(history)).toBeNull();
  expect(redo(history)).toBe(history);
});

test('an edit that changed nothing is no step, and undo at the start stays there', () => {
  const start = startHistory(smallSession());
  expect(record(start, setBlend(start.present, 'squeeze', -8), 'blend Squeeze')).toBe(start);
  expect(undo(start)).toBe(start);
});
