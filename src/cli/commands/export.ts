import type { Command } from 'commander';
import { join } from 'node:path';
import { exchangeFiles } from '../../files/exchange/exchange-files.ts';
import { requireNew, requireWritable, writeFilesWhole } from '../../files/node/node-files.ts';
import { parseSession } from '../../session/read/parse.ts';
import type { Console } from '../console.ts';
import { keepInputs } from '../keep-inputs.ts';
import { readText } from '../read-text.ts';
import { inputPaths } from '../session-on-disk.ts';

interface Options {
  readonly out: string;
  readonly force?: true;
  readonly json?: true;
}

const runExport = async (path: string, { out, force, json }: Options, console: Console): Promise<void> => {
  const session = parseSession(await readText(path), path);
  const files = exchangeFiles(session);
  const names = files.map(({ name }) => name);
  const paths = names.map((name) => join(out, name));
  await requireWritable(out);
  await keepInputs(paths, inputPaths(session, path));
  if (!force) await requireNew(out, names, 'another folder, or --force to replace what is there');
  await writeFilesWhole(out, files);
  console.out(json ? `${JSON.stringify({ files: paths }, null, 2)}\n` : paths.map((each) => `${each}\n`).join(''));
};

export const addExport = (program: Command, console: Console): void => {
  program
    .command('export')
    .description(
      'Writes levels, pans, sends, sections, tempo map and lines as CSV tables, and tempo map and sections as a MIDI file. Nothing is rendered.',
    )
    .argument('<session>', 'a session file')
    .requiredOption('--out <folder>', 'output folder; made if missing')
    .option('--force', 'replaces files that are there already')
    .option('--json', 'one JSON document')
    .action((path: string, options: Options) => runExport(path, options, console));
};
