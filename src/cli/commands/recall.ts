import type { Command } from 'commander';
import { basename, dirname } from 'node:path';
import { requireNew, requireWritable, writeFilesWhole } from '../../files/node/node-files.ts';
import { recallPage, recallSheet } from '../../files/report/recall-sheet.ts';
import { mixChanges } from '../../session/mix-changes.ts';
import { parseSession } from '../../session/read/parse.ts';
import { restorePass } from '../../session/passes/passes.ts';
import { described, listed, ProblemError } from '../../session/problem.ts';
import type { Pass, Session } from '../../session/schema.ts';
import type { Console } from '../console.ts';
import { keepInputs } from '../keep-inputs.ts';
import { readText } from '../read-text.ts';
import { inputPaths } from '../session-on-disk.ts';

interface Options {
  readonly pass?: string;
  readonly since?: string;
  readonly out?: string;
  readonly force?: true;
  readonly json?: true;
}

/** @throws ProblemError where the session has no pass with this id or name */
const passNamed = ({ passes }: Session, option: string, asked: string): Pass => {
  const pass = passes.find(({ id, name }) => id === asked || name === asked);
  if (pass) return pass;
  const expected =
    passes.length === 0 ? 'a session with passes' : `a pass of the session: ${listed(passes.map(({ id }) => id))}`;
  throw new ProblemError({ code: 'unknown-name', path: option, expected, found: described(asked) });
};

const runRecall = async (path: string, options: Options, console: Console): Promise<void> => {
  const { out, json } = options;
  const whole = parseSession(await readText(path), path);
  const session = options.pass === undefined ? whole : restorePass(whole, passNamed(whole, '--pass', options.pass).id);
  const since = options.since === undefined ? session.passes.at(-1) : passNamed(whole, '--since', options.since);
  const sheet = recallSheet(session, since);
  if (out !== undefined) {
    await requireWritable(dirname(out));
    await keepInputs([out], inputPaths(whole, path));
    if (!options.force)
      await requireNew(dirname(out), [basename(out)], 'another name, or --force to replace what is there');
    const content = /\.html?$/i.test(out) ? recallPage(session, since) : sheet;
    await writeFilesWhole(dirname(out), [{ name: basename(out), content }]);
  }
  const answer = {
    recallSheet: out ?? null,
    pass: options.pass === undefined ? null : passNamed(whole, '--pass', options.pass).id,
    since: since?.id ?? null,
    changes: since ? mixChanges(since, session) : [],
  };
  if (json) console.out(`${JSON.stringify(answer, null, 2)}\n`);
  else console.out(out === undefined ? sheet : `Written: ${out}\n`);
};

export const addRecall = (program: Command, console: Console): void => {
  program
    .command('recall')
    .description(
      'Writes the recall sheet of a session: every setting of every path, and what changed since a pass. Nothing is rendered.',
    )
    .argument('<session>', 'a session file')
    .option('--pass <pass>', 'the sheet of this pass instead of the current mix')
    .option('--since <pass>', 'list changes since this pass; by default the last one')
    .option(
      '--out <file>',
      'write to this file: .md as Markdown, .html as a page with a picture of what each processor does',
    )
    .option('--force', 'replaces a sheet that is there already')
    .option('--json', 'one JSON document')
    .action((path: string, options: Options) => runRecall(path, options, console));
};
