import type { Command } from 'commander';
import { stat } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';
import { allFilesOf, filesOf } from '../../engine/files-of-session.ts';
import { print } from '../../engine/jobs/print.ts';
import { bundledTexts, TEXTS_ONLY } from '../../files/bundle/bundle-report.ts';
import { bundleFiles } from '../../files/bundle/bundle-write.ts';
import { inMemory } from '../../files/bytes/file-keeper.ts';
import { requireNew, requireWritable, writeFilesWhole } from '../../files/node/node-files.ts';
import { piecesOfFile } from '../../files/node/node-readable.ts';
import type { PrintText } from '../../files/print/print-texts.ts';
import type { BytePieces } from '../../files/bytes/sha256.ts';
import { zipParts, type ZipFile } from '../../files/zip/zip-write.ts';
import { nameList } from '../../session/name-list.ts';
import type { Session } from '../../session/schema.ts';
import { ALLOW_OUTSIDE } from '../blend-options.ts';
import type { Console } from '../console.ts';
import { keepInputs } from '../keep-inputs.ts';
import { inputPaths, isInside } from '../session-on-disk.ts';
import { fileTable } from '../tables.ts';
import { workplaceOf, type Workplace } from '../workplace.ts';

interface Options {
  readonly out: string;
  /** False: `--no-report`. */
  readonly report: boolean;
  readonly force?: true;
  readonly allowOutside?: true;
  readonly json?: true;
}

/** Sound files by their names in the session. Missing files that only passes name are left out, with a note. */
const soundsOf = async (session: Session, path: string, { allowOutside }: Options, console: Console) => {
  const needed = new Set(filesOf(session));
  const sounds = new Map<string, BytePieces>();
  const absent: string[] = [];
  for (const file of allFilesOf(session)) {
    const place = join(dirname(path), file);
    const isThere = needed.has(file) || (await stat(place).catch(() => null))?.isFile() === true;
    const mayGo = needed.has(file) || allowOutside === true || (await isInside(path, file));
    if (isThere && mayGo) sounds.set(file, piecesOfFile(place));
    else absent.push(file);
  }
  if (absent.length > 0) console.note(`Left out (missing, and named by passes only): ${nameList(absent)}.`);
  return sounds;
};

/** Report and recall sheet of the current mix. */
const reportOf = async (place: Workplace): Promise<PrintText[]> => {
  const task = { order: TEXTS_ONLY, keeper: inMemory, targetName: '', date: new Date() };
  return bundledTexts(await place.answer('Measuring', print(await place.workshop(false), task)));
};

/** The bytes of a zip, made anew for each reader; sounds are read from their files. */
const zipBytes = (files: readonly ZipFile<BytePieces>[]): BytePieces => ({
  async *[Symbol.asyncIterator]() {
    for (const part of zipParts(files)) {
      if ('content' in part) yield* part.content;
      else yield part;
    }
  },
});

const runBundle = async (path: string, options: Options, console: Console): Promise<void> => {
  const { out, json } = options;
  const place = await workplaceOf(path, options, console, async (session) => {
    await requireWritable(dirname(out));
    await keepInputs([out], inputPaths(session, path));
    if (!options.force)
      await requireNew(dirname(out), [basename(out)], 'another name, or --force to replace what is there');
  });
  const { session } = place;
  const sounds = await soundsOf(session, path, options, console);
  const texts = options.report ? await reportOf(place) : [];
  const files = await bundleFiles<BytePieces>(
    { session, sounds, texts, date: new Date() },
    {
      bytesOf: (content) => content,
      textContent: (bytes) => [bytes],
      pace: (done) => console.progress('Bundling', done),
    },
  );
  await writeFilesWhole(dirname(out), [{ name: basename(out), content: zipBytes(files) }]);
  const told = files.map(({ name, bytes }) => ({ path: name, bytes }));
  if (json) console.out(`${JSON.stringify({ bundle: out, files: told }, null, 2)}\n`);
  else console.out(`${fileTable(told)}Written: ${out}; "unpack" or the app opens it.\n`);
};

export const addBundle = (program: Command, console: Console): void => {
  program
    .command('bundle')
    .description(
      'Writes one zip with a session, its sound files as received, report, recall sheet and manifest, to open on another machine.',
    )
    .argument('<session>', 'a session file; the sound files that it names are read too')
    .requiredOption('--out <file>', 'the bundle, .zip')
    .option('--no-report', 'leave out report and recall sheet: nothing is rendered')
    .option(...ALLOW_OUTSIDE)
    .option('--force', 'replaces a bundle that is there already')
    .option('--json', 'one JSON document')
    .action((path: string, options: Options) => runBundle(path, options, console));
};
