import { expect, test } from 'vitest';
import {
  addClientNotes,
  changeClientNote,
  deleteClientNote,
  notePlace,
  noteState,
  tickClientNote,
} from '../../src/session/client-notes.ts';
import { deletePass, savePass } from '../../src/session/passes/passes.ts';
import { smallSession } from '../helpers/session-file.ts';

const at = (text: string, startSeconds: number | null = null, endSeconds: number | null = null) => {
  return { text, startSeconds, endSeconds };
};
const two = () => addClientNotes(smallSession(), [at(' vocal up '), at('wider', 65, 70.4)]);

test('notes are added open, each with an id of its own', () => {
  const more = addClientNotes(two(), [at('third')]);
  expect(more.clientNotes.map(({ text, done }) => [text, done])).toEqual([
    ['vocal up', null],
    ['wider', null],
    ['third', null],
  ]);
  expect(new Set(more.clientNotes.map(({ id }) => id)).size).toBe(3);
  expect(() => addClientNotes(two(), [at('x', 5, 4)])).toThrow('endSeconds');
  expect(() => addClientNotes(two(), [at('  ')])).toThrow('text');
});

test('a note that is ticked off is answered by the pass that is saved next, and by no later one', () => {
  const [first] = two().clientNotes;
  const ticked = tickClientNote(two(), first!.id, true);
  expect(noteState(ticked, ticked.clientNotes[0]!)).toBe('answered in the mix');
  const saved = savePass(ticked, 'Second');
  expect(saved.clientNotes[0]!.done).toEqual({ pass: 'second', answer: '' });
  const later = savePass(saved, 'Third');
  expect(noteState(later, later.clientNotes[0]!)).toBe('answered in the pass "Second"');
  expect(noteState(later, later.clientNotes[1]!)).toBe('open');
  const gone = deletePass(later, 'second');
  expect(noteState(gone, gone.clientNotes[0]!)).toBe('answered in a pass that is deleted');
  expect(tickClientNote(saved, first!.id, false).clientNotes[0]!.done).toBeNull();
});

test('a place is told with the section that it is in', () => {
  const session = { sections: [{ name: 'Chorus', startSeconds: 60, endSeconds: 80 }] };
  expect(notePlace(session, at('x'))).toBe('whole song');
  expect(notePlace(session, at('x', 65, 70.4))).toBe('1:05-1:10 (Chorus)');
  expect(notePlace(session, at('x', 5))).toBe('0:05');
});

test('a note is changed and deleted by its id', () => {
  const [first, second] = two().clientNotes;
  expect(changeClientNote(two(), first!.id, { text: 'down' }).clientNotes[0]!.text).toBe('down');
  expect(deleteClientNote(two(), first!.id).clientNotes).toEqual([second]);
  expect(() => changeClientNote(two(), 'nobody', {})).toThrow(RangeError);
});
