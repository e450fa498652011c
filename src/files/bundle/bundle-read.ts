import { ProblemError } from '../../session/problem.ts';
import { joinedBytes } from '../bytes/joined-bytes.ts';
import { parseManifest, type ManifestFile } from '../print/manifest.ts';
import { digesting } from '../bytes/sha256.ts';
import { zipContent } from '../zip/zip-content.ts';
import { brokenZip, type ReadableAt, type ZipEntry } from '../zip/zip-read.ts';
import { BUNDLE_MANIFEST, BUNDLE_SESSION } from './bundle-names.ts';

/** A file of a bundle and its entry in the manifest. */
export interface BundledFile {
  readonly entry: ZipEntry;
  readonly listed: ManifestFile;
}

/** Largest accepted manifest, bytes: more than any session needs. */
const LONGEST_MANIFEST = 2 ** 24;

/** Whether the files of a zip are those of a bundle. */
export const isBundle = (entries: readonly ZipEntry[]): boolean =>
  [BUNDLE_MANIFEST, BUNDLE_SESSION].every((name) => entries.some((entry) => entry.name === name));

/**
 * The files that the manifest of a bundle lists; others are ignored.
 * @throws ProblemError where one is missing, has another size, or has the same name as another apart from case
 */
export const bundledFiles = async (
  zip: ReadableAt,
  entries: readonly ZipEntry[],
  path: string,
): Promise<BundledFile[]> => {
  const manifestEntry = entries.find(({ name }) => name === BUNDLE_MANIFEST)!;
  if (manifestEntry.bytes > LONGEST_MANIFEST) throw brokenZip(path, `a manifest of ${manifestEntry.bytes} bytes`);
  const pieces: Uint8Array[] = [];
  for await (const piece of zipContent(zip, manifestEntry, path)) pieces.push(piece);
  const text = new TextDecoder().decode(joinedBytes(pieces));
  const names = new Set<string>();
  return parseManifest(text, `${path}: ${BUNDLE_MANIFEST}`).files.map((listed) => {
    const entry = entries.find(({ name }) => name === listed.path);
    const key = listed.path.normalize().toLowerCase();
    if (names.has(key)) throw brokenZip(path, `two files called ${listed.path}`);
    names.add(key);
    if (entry?.bytes === listed.bytes) return { entry, listed };
    const found = entry ? `one of ${entry.bytes}` : 'none';
    const expected = `${listed.bytes} bytes, as its manifest says`;
    throw new ProblemError({ code: 'mismatch', path: `${listed.path} in ${path}`, expected, found });
  });
};

/**
 * Content of a file in a bundle, piece by piece.
 * @throws ProblemError at its end unless size and digest match the manifest
 */
export async function* bundledContent(
  zip: ReadableAt,
  { entry, listed }: BundledFile,
  path: string,
): AsyncGenerator<Uint8Array> {
  let found = '';
  yield* digesting(zipContent(zip, entry, path), ({ sha256 }) => (found = sha256));
  if (found === listed.sha256) return;
  const expected = 'the bytes that its manifest lists (SHA-256)';
  throw new ProblemError({ code: 'mismatch', path: `${listed.path} in ${path}`, expected, found: 'others' });
}
