import type { Command } from 'commander';
import { createReadStream } from 'node:fs';
import { readdir, stat } from 'node:fs/promises';
import { join, relative, sep } from 'node:path';
import { MANIFEST_ENDING, MANIFEST_FIGURES, parseManifest, type ManifestFile } from '../../files/print/manifest.ts';
import { reasonOf } from '../../files/node/node-files.ts';
import { digestOf } from '../../files/bytes/sha256.ts';
import { DEFINITIONS } from '../../measure/definitions/definitions.ts';
import { numberText } from '../../measure/definitions/figure-text.ts';
import { ProblemError } from '../../session/problem.ts';
import type { Console } from '../console.ts';
import { GuardFailed } from '../guard-failed.ts';
import { measureFile } from '../measure-file.ts';
import { readText } from '../read-text.ts';

/** Result of checking one file of a manifest. */
interface Verified {
  readonly path: string;
  readonly ok: boolean;
  /** One sentence; null where all is well. */
  readonly problem: string | null;
}

/** Tolerance of figures, in their units: a file measured on another machine may differ by rounding. */
const TOLERANCE = 0.01;

/** @throws ProblemError when the folder cannot be read or holds no manifest */
const manifestsIn = async (folder: string): Promise<string[]> => {
  const names = await readdir(folder).catch((error: unknown): never => {
    throw new ProblemError({ code: 'unreadable', path: folder, expected: 'a folder', found: reasonOf(error) });
  });
  const manifests = names.filter((name) => name.endsWith(MANIFEST_ENDING)).sort();
  if (manifests.length > 0) return manifests;
  const expected = `a file whose name ends in "${MANIFEST_ENDING}", as a print writes it`;
  throw new ProblemError({ code: 'missing-file', path: `the manifest in ${folder}`, expected, found: 'none' });
};

/** The first difference between a sound file and its manifest; null: none. */
const figureProblem = async (path: string, { sound }: ManifestFile): Promise<string | null> => {
  if (!sound) return null;
  const measured = await measureFile(path, { details: false, sections: [] });
  if (measured.sampleRate !== sound.sampleRate)
    return `its sample rate is ${measured.sampleRate} Hz, and the manifest says ${sound.sampleRate} Hz`;
  if (measured.channels !== sound.channels)
    return `it has ${measured.channels} channels, and the manifest says ${sound.channels}`;
  for (const key of MANIFEST_FIGURES) {
    const [found, said] = [measured[key], sound.figures[key]];
    const isEqual = found === null || said === null ? found === said : Math.abs(found - said) <= TOLERANCE;
    const { label, unit } = DEFINITIONS[key];
    const text = (value: number | null): string => (value === null ? 'none' : `${numberText(value, 2)} ${unit}`);
    if (!isEqual) return `${label} measures ${text(found)}, and the manifest says ${text(said)}`;
  }
  return null;
};

const problemOf = async (folder: string, file: ManifestFile): Promise<string | null> => {
  const path = join(folder, file.path);
  const stats = await stat(path).catch(() => null);
  if (!stats?.isFile()) return 'it is missing';
  if (stats.size !== file.bytes) return `it has ${stats.size} bytes, and the manifest says ${file.bytes}`;
  try {
    const { sha256 } = await digestOf(createReadStream(path));
    if (sha256 !== file.sha256) return 'its bytes differ from those that were printed (SHA-256)';
    return await figureProblem(path, file);
  } catch (error) {
    return `it cannot be read: ${reasonOf(error)}`;
  }
};

/** Files in and below the folder that no manifest names, but for hidden ones. */
const strangersIn = async (folder: string, known: readonly string[]): Promise<string[]> => {
  const entries = await readdir(folder, { recursive: true, withFileTypes: true });
  const paths = entries
    .filter((entry) => entry.isFile())
    .map((entry) => relative(folder, join(entry.parentPath, entry.name)).split(sep).join('/'));
  return paths.filter((path) => !known.includes(path) && !/(?:^|\/)\./.test(path)).sort();
};

const runVerify = async (folder: string, { json }: { readonly json?: true }, console: Console): Promise<void> => {
  const files: Verified[] = [];
  const manifests = await manifestsIn(folder);
  for (const name of manifests) {
    const manifest = parseManifest(await readText(join(folder, name)), join(folder, name));
    for (const file of manifest.files) {
      const problem = await problemOf(folder, file);
      files.push({ path: file.path, ok: problem === null, problem });
    }
  }
  const ok = files.every((file) => file.ok);
  const strangers = await strangersIn(folder, [...manifests, ...files.map(({ path }) => path)]);
  if (json) console.out(`${JSON.stringify({ files, ok, others: strangers }, null, 2)}\n`);
  else {
    for (const { path, problem } of files) console.out(`${path}: ${problem ?? 'as printed'}\n`);
    const wrong = files.filter((file) => !file.ok).length;
    const count = `${files.length} ${files.length === 1 ? 'file' : 'files'}`;
    for (const path of strangers) console.out(`${path}: in no manifest, so not part of the print\n`);
    console.out(`\n${ok ? `All of ${count} as printed.` : `${wrong} of ${count} not as printed.`}\n`);
  }
  if (!ok) throw new GuardFailed();
};

export const addVerify = (program: Command, console: Console): void => {
  program
    .command('verify')
    .description(
      'Checks a delivered folder against its manifest: every file must be there, unchanged since it was printed.',
    )
    .argument('<folder>', 'a folder that a print was written to')
    .option('--json', 'one JSON document')
    .action((folder: string, options: { readonly json?: true }) => runVerify(folder, options, console));
};
