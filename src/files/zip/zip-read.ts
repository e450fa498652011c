import { ProblemError } from '../../session/problem.ts';
import * as zip from './zip-records.ts';

/** Random access to a file. */
export interface ReadableAt {
  /** Bytes. */
  readonly size: number;
  /** The bytes from `from` up to `to`, or up to the end of the file. */
  read(from: number, to: number): Promise<Uint8Array>;
}

/** Random access to a file that the user added to the page. */
export const readableBlob = (blob: Blob): ReadableAt => ({
  size: blob.size,
  read: async (from, to) => new Uint8Array(await blob.slice(from, to).arrayBuffer()),
});

/** One file in a zip. */
export interface ZipEntry {
  /** Path with `/`; it never leads out of the folder in which it is unpacked. */
  readonly name: string;
  /** Of its content. */
  readonly bytes: number;
  readonly packedBytes: number;
  readonly isDeflated: boolean;
  readonly crc32: number;
  /** Offset of its packed content in the zip. */
  readonly start: number;
}

/** Largest accepted ratios of unpacked to packed size: of one file (silence packs to about a thousandth), and of a whole zip. */
const MOST_RATIO = 1000;
const MOST_RATIO_OF_ALL = 200;
/** Unpacked size below which the ratio is not checked, bytes. */
const LARGE_BYTES = 2 ** 28;
/** Largest accepted list of files, bytes: 100 000 files and more. */
const LONGEST_LIST = 2 ** 24;
const LONGEST_COMMENT = 0xffff;

export const brokenZip = (path: string, found: string): ProblemError =>
  new ProblemError({ code: 'mismatch', path, expected: 'a zip file that can be unpacked', found });

const DAMAGED = 'one that is damaged or cut off';

const viewOf = (bytes: Uint8Array): DataView => new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);

/** A 64 bit number; beyond 2^53 it is not exact, but then larger than any file and refused. */
const u64 = (view: DataView, at: number): number => Number(view.getBigUint64(at, true));

/** Location of the list of files. */
interface List {
  readonly at: number;
  readonly bytes: number;
  readonly count: number;
}

/** @throws ProblemError where the file does not end as a zip does */
const listOf = async (file: ReadableAt, path: string): Promise<List> => {
  const from = Math.max(0, file.size - zip.END_BYTES - LONGEST_COMMENT);
  const view = viewOf(await file.read(from, file.size));
  for (let at = view.byteLength - zip.END_BYTES; at >= 0; at--) {
    if (view.getUint32(at, true) !== zip.END) continue;
    if (at + zip.END_BYTES + view.getUint16(at + 20, true) !== view.byteLength) continue;
    const [disk, count] = [view.getUint16(at + 4, true), view.getUint16(at + 10, true)];
    const [bytes, start] = [view.getUint32(at + 12, true), view.getUint32(at + 16, true)];
    const isLarge = count === zip.ELSEWHERE_16 || bytes === zip.ELSEWHERE_32 || start === zip.ELSEWHERE_32;
    const large = isLarge ? await largeListOf(file, from + at - zip.LOCATOR_64_BYTES) : null;
    if (large) return large;
    if (disk !== 0) throw brokenZip(path, 'one of several parts');
    return { at: start, bytes, count };
  }
  throw brokenZip(path, DAMAGED);
};

/** The same from the 64 bit record; null where there is none. */
const largeListOf = async (file: ReadableAt, locatorAt: number): Promise<List | null> => {
  if (locatorAt < 0) return null;
  const locator = viewOf(await file.read(locatorAt, locatorAt + zip.LOCATOR_64_BYTES));
  if (locator.getUint32(0, true) !== zip.LOCATOR_64) return null;
  const at = u64(locator, 8);
  const end = viewOf(await file.read(at, at + zip.END_64_BYTES));
  if (end.byteLength < zip.END_64_BYTES || end.getUint32(0, true) !== zip.END_64) return null;
  return { count: u64(end, 32), bytes: u64(end, 40), at: u64(end, 48) };
};

/** Values of 64 bits among the extra fields of an entry, in order. */
const largeValues = (extra: DataView): number[] => {
  for (let at = 0; at + 4 <= extra.byteLength;) {
    const [id, bytes] = [extra.getUint16(at, true), extra.getUint16(at + 2, true)];
    const end = Math.min(at + 4 + bytes, extra.byteLength);
    if (id === zip.EXTRA_64)
      return Array.from({ length: Math.floor((end - at - 4) / 8) }, (_, n) => u64(extra, at + 4 + 8 * n));
    at = end;
  }
  return [];
};

/** Whether a path stays inside its folder on any system. */
const isSafeName = (name: string): boolean =>
  !/[\p{Cc}]/u.test(name) &&
  !/^[A-Za-z]:/.test(name) &&
  name.split('/').every((part) => part !== '' && part !== '.' && part !== '..');

/** An entry of the list of files. */
interface Listed extends Omit<ZipEntry, 'start' | 'isDeflated'> {
  readonly flags: number;
  readonly method: number;
  /** Offset of its local record. */
  readonly at: number;
}

/** @throws ProblemError where the list is inconsistent */
const entriesOf = (list: Uint8Array, count: number, path: string): Listed[] => {
  const view = viewOf(list);
  const entries: Listed[] = [];
  let at = 0;
  for (let n = 0; n < count; n++) {
    if (at + zip.CENTRAL_BYTES > list.length || view.getUint32(at, true) !== zip.CENTRAL)
      throw brokenZip(path, DAMAGED);
    const [flags, method] = [view.getUint16(at + 8, true), view.getUint16(at + 10, true)];
    const [nameBytes, extraBytes, commentBytes] = [28, 30, 32].map((field) => view.getUint16(at + field, true));
    const nameAt = at + zip.CENTRAL_BYTES;
    const extraAt = nameAt + nameBytes!;
    const end = extraAt + extraBytes! + commentBytes!;
    if (end > list.length) throw brokenZip(path, DAMAGED);
    const large = largeValues(viewOf(list.subarray(extraAt, extraAt + extraBytes!)));
    // In this order, each only where its own field has the placeholder.
    const value = (field: number): number => {
      const small = view.getUint32(at + field, true);
      return small === zip.ELSEWHERE_32 && large.length > 0 ? large.shift()! : small;
    };
    const [bytes, packedBytes, start] = [value(24), value(20), value(42)];
    const name = new TextDecoder()
      .decode(list.subarray(nameAt, extraAt))
      .replaceAll('\\', '/')
      .replace(/^(\.\/)+/, '');
    entries.push({ name, flags, method, crc32: view.getUint32(at + 16, true), bytes, packedBytes, at: start });
    at = end;
  }
  return entries;
};

/** @throws ProblemError for an entry that is encrypted, packed by an unsupported method, has an unsafe name, or too high a ratio */
const refuseUnfit = ({ name, flags, method, bytes, packedBytes }: Listed, path: string): void => {
  if (!isSafeName(name)) throw brokenZip(path, `a file called "${name}", whose name leads elsewhere`);
  if ((flags & zip.ENCRYPTED) !== 0) throw brokenZip(path, `${name}, which is locked by a password`);
  if (method !== zip.STORED && method !== zip.DEFLATED)
    throw brokenZip(path, `${name}, which is packed in another way`);
  if (method === zip.STORED && bytes !== packedBytes) throw brokenZip(path, DAMAGED);
  if (bytes > LARGE_BYTES && bytes > MOST_RATIO * packedBytes)
    throw brokenZip(path, `${name}, which unpacks to more than ${MOST_RATIO} times its size`);
};

/** Offset of the content of an entry, after its local record. @throws ProblemError where there is none */
const startOf = async (file: ReadableAt, { at }: Listed, path: string): Promise<number> => {
  const head = viewOf(await file.read(at, at + zip.LOCAL_BYTES));
  if (head.byteLength < zip.LOCAL_BYTES || head.getUint32(0, true) !== zip.LOCAL) throw brokenZip(path, DAMAGED);
  return at + zip.LOCAL_BYTES + head.getUint16(26, true) + head.getUint16(28, true);
};

/** @throws ProblemError where two entries share bytes, as they do in zip bombs */
const refuseOverlaps = (entries: readonly (ZipEntry & { readonly at: number })[], end: number, path: string): void => {
  const inOrder = [...entries].sort((a, b) => a.at - b.at);
  for (const [n, { start, packedBytes }] of inOrder.entries()) {
    if (start + packedBytes > (inOrder[n + 1]?.at ?? end)) throw brokenZip(path, DAMAGED);
  }
};

/**
 * The files in a zip, from the list at its end; folders are left out, and so is `__MACOSX`, which one system adds.
 *
 * @param path what messages call the zip
 * @throws ProblemError where it is damaged, encrypted, has unsafe or duplicate names, or too high a ratio
 */
export const zipEntries = async (file: ReadableAt, path: string): Promise<ZipEntry[]> => {
  const list = await listOf(file, path);
  if (list.bytes > LONGEST_LIST) throw brokenZip(path, 'one with too many files');
  const listed = entriesOf(await file.read(list.at, list.at + list.bytes), list.count, path).filter(
    ({ name }) => !name.endsWith('/') && !name.startsWith('__MACOSX/'),
  );
  if (listed.length === 0) throw brokenZip(path, 'one without files');
  const names = new Set<string>();
  const entries: (ZipEntry & { readonly at: number })[] = [];
  for (const entry of listed) {
    refuseUnfit(entry, path);
    const { name, bytes, packedBytes, method, crc32, at } = entry;
    if (names.has(name.normalize())) throw brokenZip(path, `two files called ${name}`);
    names.add(name.normalize());
    const start = await startOf(file, entry, path);
    entries.push({ name, bytes, packedBytes, isDeflated: method === zip.DEFLATED, crc32, at, start });
  }
  refuseOverlaps(entries, list.at, path);
  const all = entries.reduce((sum, { bytes }) => sum + bytes, 0);
  if (all > LARGE_BYTES && all > MOST_RATIO_OF_ALL * file.size)
    throw brokenZip(path, `files that unpack to more than ${MOST_RATIO_OF_ALL} times its size`);
  return entries.map(({ at: _, ...entry }) => entry);
};
