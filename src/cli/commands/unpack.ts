import type { Command } from 'commander';
import { join } from 'node:path';
import { BUNDLE_MANIFEST, BUNDLE_SESSION } from '../../files/bundle/bundle-names.ts';
import { bundledContent, bundledFiles, isBundle, type BundledFile } from '../../files/bundle/bundle-read.ts';
import { requireNew, requireWritable, writeFilesWhole, type NewFile } from '../../files/node/node-files.ts';
import { isTakenEverywhere } from '../../files/print/print-names.ts';
import { withReadable } from '../../files/node/node-readable.ts';
import { zipContent } from '../../files/zip/zip-content.ts';
import { brokenZip, zipEntries, type ReadableAt } from '../../files/zip/zip-read.ts';
import type { Console } from '../console.ts';
import { fileTable } from '../tables.ts';

interface Options {
  readonly out: string;
  readonly force?: true;
  readonly json?: true;
}

const unpack = async (zip: ReadableAt, path: string, { out, force }: Options): Promise<BundledFile[]> => {
  const entries = await zipEntries(zip, path);
  if (!isBundle(entries))
    throw brokenZip(path, `a zip without ${BUNDLE_SESSION} and ${BUNDLE_MANIFEST}, so not a bundle`);
  const files = await bundledFiles(zip, entries, path);
  const manifest = entries.find(({ name }) => name === BUNDLE_MANIFEST)!;
  const written: NewFile[] = [
    ...files.map((file) => ({
      name: file.entry.name,
      content: { [Symbol.asyncIterator]: () => bundledContent(zip, file, path) },
    })),
    { name: BUNDLE_MANIFEST, content: { [Symbol.asyncIterator]: () => zipContent(zip, manifest, path) } },
  ];
  const names = written.map(({ name }) => name);
  const strange = names.find((name) => !isTakenEverywhere(name));
  if (strange !== undefined) throw brokenZip(path, `a file called "${strange}", a name that not every system takes`);
  await requireWritable(out);
  if (!force) await requireNew(out, names, 'another folder, or --force to replace what is there');
  await writeFilesWhole(out, written);
  return files;
};

const runUnpack = async (path: string, options: Options, console: Console): Promise<void> => {
  const files = await withReadable(path, (zip) => unpack(zip, path, options));
  const session = join(options.out, BUNDLE_SESSION);
  const told = files.map(({ listed: { path: file, bytes } }) => ({ path: file, bytes }));
  if (options.json) console.out(`${JSON.stringify({ session, files: told }, null, 2)}\n`);
  else console.out(`${fileTable(told)}All files match the bundle's manifest. The session: ${session}\n`);
};

export const addUnpack = (program: Command, console: Console): void => {
  program
    .command('unpack')
    .description('Opens a bundle: writes its session and its sound into a folder. All is written, or nothing.')
    .argument('<bundle>', 'a zip that "bundle" or the app wrote')
    .requiredOption('--out <folder>', 'where the files go; made if it is not there')
    .option('--force', 'replaces files that are there already')
    .option('--json', 'one JSON document')
    .action((path: string, options: Options) => runUnpack(path, options, console));
};
