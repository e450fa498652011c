import type { Session } from '../../session/schema.ts';
import { withFilesCalled } from '../../session/edits/renamed-files.ts';
import { sessionText } from '../../session/read/serialize.ts';
import { exchangeFiles } from '../exchange/exchange-files.ts';
import { manifestText, type ManifestFile } from '../print/manifest.ts';
import { digestOf, type BytePieces } from '../bytes/sha256.ts';
import { RunningCrc } from '../zip/running-crc.ts';
import type { ZipFile } from '../zip/zip-write.ts';
import { BUNDLE_LISTS, BUNDLE_MANIFEST, BUNDLE_SESSION, bundlePaths } from './bundle-names.ts';

/** A text of a bundle. */
interface BundleText {
  readonly name: string;
  readonly content: string;
}

/** Content of a bundle. */
interface BundleOrder<Content> {
  readonly session: Session;
  /** Sound files as received, by their paths in the session. A file that only passes name may be absent. */
  readonly sounds: ReadonlyMap<string, Content>;
  /** Texts beside the session: a report. */
  readonly texts: readonly BundleText[];
  readonly date: Date;
}

/** Functions of the caller, which has access to the contents. */
interface BundleHost<Content> {
  readonly bytesOf: (content: Content) => BytePieces;
  readonly textContent: (bytes: Uint8Array<ArrayBuffer>) => Content;
  /** Called before each sound with the part done, 0..1; rejects to stop. */
  readonly pace: (done: number) => Promise<void> | void;
}

interface Summed<Content> {
  readonly file: ZipFile<Content>;
  readonly listed: ManifestFile;
}

/**
 * The files of a bundle: the session with its sound files as received, texts, its lists in open formats, and a manifest of all with SHA-256. Each sound is read
 * once, piece by piece, and never held whole in memory.
 */
export const bundleFiles = async <Content>(
  { session, sounds, texts, date }: BundleOrder<Content>,
  { bytesOf, textContent, pace }: BundleHost<Content>,
): Promise<ZipFile<Content>[]> => {
  const summed = async (name: string, content: Content): Promise<Summed<Content>> => {
    const crc = await RunningCrc.begin();
    const { bytes, sha256 } = await digestOf(crc.of(bytesOf(content)));
    return { file: { name, bytes, crc32: crc.value(), content }, listed: { path: name, bytes, sha256 } };
  };
  const text = (name: string, content: string | Uint8Array<ArrayBuffer>): Promise<Summed<Content>> =>
    summed(name, textContent(typeof content === 'string' ? new TextEncoder().encode(content) : content));
  const paths = bundlePaths([...sounds.keys()]);
  const moved = withFilesCalled(session, (file) => paths.get(file) ?? file);
  const all = [await text(BUNDLE_SESSION, sessionText(moved))];
  for (const [n, [file, content]] of [...sounds].entries()) {
    await pace(n / sounds.size);
    all.push(await summed(paths.get(file)!, content));
  }
  for (const { name, content } of texts) all.push(await text(name, content));
  for (const { name, content } of exchangeFiles(moved)) all.push(await text(`${BUNDLE_LISTS}${name}`, content));
  const { title, artist } = session;
  const manifest = manifestText({
    ...{ title, artist, printed: date.toISOString(), startsAtSeconds: 0 },
    files: all.map(({ listed }) => listed),
  });
  return [...all, await text(BUNDLE_MANIFEST, manifest)].map(({ file }) => file);
};
