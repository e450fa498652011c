import { clock } from '../audio/clock.ts';
import { put, requireConsistent } from './edits/edit-tools.ts';
import { freeId } from './ids.ts';
import type { ClientNote, Session } from './schema.ts';

// What the client asks for, under the rules of `edits.ts`.

/** A note before it has an id. */
export type NewClientNote = Pick<ClientNote, 'text' | 'startSeconds' | 'endSeconds'>;

/** Adds notes after the others, all open; one that is there already, word for word at the same place, is not added again. @throws ProblemError where one has no text or ends before it begins */
export const addClientNotes = (session: Session, notes: readonly NewClientNote[]): Session => {
  const taken = new Set(session.clientNotes.map(({ id }) => id));
  const isNew = ({ text, startSeconds, endSeconds }: NewClientNote): boolean =>
    !session.clientNotes.some(
      (note) => note.text === text.trim() && note.startSeconds === startSeconds && note.endSeconds === endSeconds,
    );
  const added = notes.filter(isNew).map(({ text, startSeconds, endSeconds }): ClientNote => {
    const id = freeId('note', taken);
    taken.add(id);
    return { id, text: text.trim(), startSeconds, endSeconds, done: null };
  });
  return added.length === 0
    ? session
    : requireConsistent({ ...session, clientNotes: [...session.clientNotes, ...added] });
};

/** Text, place or answer of a note. Throws RangeError when there is no such note. */
export const changeClientNote = (session: Session, id: string, fields: Partial<Omit<ClientNote, 'id'>>): Session => {
  const index = session.clientNotes.findIndex((note) => note.id === id);
  const note = session.clientNotes[index];
  if (!note) throw new RangeError(`the session has no client note "${id}"`);
  const changed = put(note, fields);
  if (changed === note) return session;
  return requireConsistent({ ...session, clientNotes: session.clientNotes.with(index, changed) });
};

/** Ticks a note off, as answered by the mix as it stands, or opens it again. */
export const tickClientNote = (session: Session, id: string, isDone: boolean): Session => {
  const note = session.clientNotes.find((each) => each.id === id);
  if (note && isDone === (note.done !== null)) return session;
  return changeClientNote(session, id, { done: isDone ? { pass: null, answer: '' } : null });
};

export const deleteClientNote = (session: Session, id: string): Session => ({
  ...session,
  clientNotes: session.clientNotes.filter((note) => note.id !== id),
});

/** Notes that the mix as it stands answers are answered by the pass that it is saved as. */
export const answeredBy = (notes: Session['clientNotes'], pass: string): Session['clientNotes'] =>
  notes.some(({ done }) => done?.pass === null)
    ? notes.map((note) => (note.done?.pass === null ? { ...note, done: { ...note.done, pass } } : note))
    : notes;

const nearestClock = (seconds: number): string => clock(Math.round(seconds));

/** "1:23", "0:45-1:02"; '' for the whole song. */
export const noteTime = ({ startSeconds, endSeconds }: Omit<NewClientNote, 'text'>): string =>
  startSeconds === null
    ? ''
    : `${nearestClock(startSeconds)}${endSeconds === null ? '' : `-${nearestClock(endSeconds)}`}`;

/** Where a note is about: "1:23 (Chorus)", "0:45-1:02 (Verse)", "whole song". */
export const notePlace = ({ sections }: Pick<Session, 'sections'>, note: NewClientNote): string => {
  const { startSeconds } = note;
  if (startSeconds === null) return 'whole song';
  const section = sections.find((each) => startSeconds >= each.startSeconds && startSeconds < each.endSeconds);
  const time = noteTime(note);
  return section ? `${time} (${section.name})` : time;
};

/** What stands of a note: "open", "answered in the pass "Second"", "answered in the mix". */
export const noteState = ({ passes }: Pick<Session, 'passes'>, { done }: ClientNote): string => {
  if (!done) return 'open';
  if (done.pass === null) return 'answered in the mix';
  const pass = passes.find(({ id }) => id === done.pass);
  return pass ? `answered in the pass "${pass.name}"` : 'answered in a pass that is deleted';
};
