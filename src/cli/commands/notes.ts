import type { Command } from 'commander';
import { basename, dirname } from 'node:path';
import { clientNotesIn } from '../../files/notes/client-notes-text.ts';
import { requireWritable, writeFilesWhole } from '../../files/node/node-files.ts';
import { addClientNotes, notePlace, noteState, tickClientNote } from '../../session/client-notes.ts';
import { parseSession } from '../../session/read/parse.ts';
import { described, listed, ProblemError } from '../../session/problem.ts';
import type { Session } from '../../session/schema.ts';
import { sessionText } from '../../session/read/serialize.ts';
import type { Console } from '../console.ts';
import { keepInputs } from '../keep-inputs.ts';
import { readText } from '../read-text.ts';
import { rebased } from '../rebased.ts';
import { inputPaths } from '../session-on-disk.ts';
import { aligned } from '../tables.ts';

interface Options {
  readonly import?: string;
  readonly answered?: readonly string[];
  readonly out?: string;
  readonly json?: true;
}

/** @throws ProblemError for changes without a session to write them to */
const requireOut = ({ import: from, answered, out }: Options): void => {
  const option = from !== undefined ? '--import' : answered ? '--answered' : null;
  if (option === null || out !== undefined) return;
  const expected = '--out beside it, the session file to write';
  throw new ProblemError({ code: 'mismatch', path: option, expected, found: 'none' });
};

/** @throws ProblemError naming the first id that is no note */
const ticked = (session: Session, ids: readonly string[]): Session =>
  ids.reduce((made, id) => {
    if (session.clientNotes.some((note) => note.id === id)) return tickClientNote(made, id, true);
    const known = session.clientNotes.map((note) => note.id);
    const expected = known.length === 0 ? 'a session with client notes' : `ids of client notes: ${listed(known)}`;
    throw new ProblemError({ code: 'unknown-name', path: '--answered', expected, found: described(id) });
  }, session);

const runNotes = async (path: string, options: Options, console: Console): Promise<void> => {
  requireOut(options);
  const { out } = options;
  const given = parseSession(await readText(path), path);
  const imported =
    options.import === undefined
      ? given
      : addClientNotes(given, clientNotesIn(await readText(options.import), given, options.import));
  const session = ticked(imported, options.answered ?? []);
  if (out !== undefined) {
    await requireWritable(dirname(out));
    await keepInputs([out], [...inputPaths(given, path), ...(options.import === undefined ? [] : [options.import])]);
    const content = sessionText(rebased(session, dirname(path), dirname(out)));
    await writeFilesWhole(dirname(out), [{ name: basename(out), content }]);
  }
  const notes = session.clientNotes.map((note) => ({
    ...note,
    where: notePlace(session, note),
    state: noteState(session, note),
  }));
  const open = notes.filter(({ done }) => done === null).length;
  if (options.json) return console.out(`${JSON.stringify({ notes, open, session: out ?? null }, null, 2)}\n`);
  console.out(
    notes.length === 0
      ? 'No client notes.\n'
      : `${aligned([['Id', 'Where', 'Note', 'State'], ...notes.map(({ id, where, text, state }) => [id, where, text, state])])}${open} of ${notes.length} open\n`,
  );
  if (out !== undefined) console.out(`Written: ${out}\n`);
};

export const addNotes = (program: Command, console: Console): void => {
  program
    .command('notes')
    .description(
      'Lists the client notes of a revision, imports them from text or a table, and marks them done. Nothing is rendered.',
    )
    .argument('<session>', 'a session file')
    .option(
      '--import <file>',
      'add the notes of a text (one a line, each after a time or the name of a section) or of a CSV table',
    )
    .option('--answered <ids>', 'mark these notes done, ids separated by commas', (text: string) =>
      text.split(',').map((id) => id.trim()),
    )
    .option('--out <session>', 'write the session with its notes')
    .option('--json', 'one JSON document')
    .action((path: string, options: Options) => runNotes(path, options, console));
};
