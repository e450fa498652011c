import { answeredBy } from '../client-notes.ts';
import { put, requireConsistent, requireValid } from '../edits/edit-tools.ts';
import type { Mix } from '../graph.ts';
import { freeId, idFrom } from '../ids.ts';
import { withoutLostReceived } from '../received-balance.ts';
import { ROUGH_THROUGH } from './rough-through.ts';
import { passSchema, type Pass, type Session } from '../schema.ts';
import { chainFilesOf } from '../sound-files.ts';

// Saved versions of the mix, under the rules of `edits.ts`.

const mixOf = ({ tracks, groups, buses, mixBus, rough, lines }: Mix): Mix => ({
  tracks,
  groups,
  buses,
  mixBus,
  rough: rough && { chain: rough.chain, sends: rough.sends },
  lines,
});

const indexOf = ({ passes }: Session, id: string): number => {
  const index = passes.findIndex((pass) => pass.id === id);
  if (index < 0) throw new RangeError(`the session has no pass "${id}"`);
  return index;
};

/** The pass with this id. Throws RangeError when there is none. */
export const passOf = (session: Session, id: string): Pass => session.passes[indexOf(session, id)]!;

/**
 * Keeps the current mix as a pass, after the others; its id comes from its name. Later edits do not touch it. Client notes that the mix
 * answers are answered by this pass from then on.
 */
export const savePass = (session: Session, name: string, note = ''): Session => {
  const id = freeId(idFrom(name), new Set([ROUGH_THROUGH, ...session.passes.map((pass) => pass.id)]));
  const pass: Pass = { id, name: name.trim(), note: note.trim(), ...mixOf(session) };
  const clientNotes = answeredBy(session.clientNotes, id);
  return requireConsistent({ ...session, passes: [...session.passes, pass], clientNotes });
};

/** Name or note of a pass; its id stays. */
export const changePass = (session: Session, id: string, fields: Partial<Pick<Pass, 'name' | 'note'>>): Session => {
  const index = indexOf(session, id);
  const trimmed = Object.fromEntries(Object.entries(fields).map(([field, text]) => [field, text.trim()]));
  for (const [field, text] of Object.entries(trimmed)) {
    requireValid(passSchema.shape[field as keyof typeof fields], text, ['passes', index, field]);
  }
  const pass = session.passes[index]!;
  const changed = put(pass, trimmed);
  return changed === pass ? session : { ...session, passes: session.passes.with(index, changed) };
};

/** Takes a pass out. Trials that were held on it stay in the log. */
export const deletePass = (session: Session, id: string): Session => {
  const index = indexOf(session, id);
  return withoutLostReceived({ ...session, passes: session.passes.filter((_, n) => n !== index) });
};

const NOTHING: never[] = [];

/** The rough with what it did as a source in a pass: nothing, in one that was saved without it. */
const roughAs = ({ rough }: Session, { rough: then }: Mix): Session['rough'] =>
  rough && put(rough, { chain: then?.chain ?? NOTHING, sends: then?.sends ?? NOTHING });

/** Takes a pass back into the current mix; song, passes and trials stay as they are. */
export const restorePass = (session: Session, id: string): Session => {
  const pass = passOf(session, id);
  return withoutLostReceived(put(session, { ...mixOf(pass), rough: roughAs(session, pass) }));
};

/** Files that the passes name, sounds of their chains too. */
export const filesOfPasses = ({ passes }: Session): string[] => [
  ...new Set(passes.flatMap((pass) => [...pass.tracks, ...chainFilesOf(pass)]).map(({ file }) => file)),
];
