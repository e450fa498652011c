import * as zip from './zip-records.ts';

/** One file of a zip. Size and CRC are given in advance, so that the zip is written in one pass. */
export interface ZipFile<Content> {
  /** Path with `/`. */
  readonly name: string;
  readonly bytes: number;
  /** CRC-32 (ISO 3309), as an unsigned number. */
  readonly crc32: number;
  readonly content: Content;
}

/** 1 January 1980, the first date of the format; fixed, so that equal files make equal zips. */
const FIRST_DAY = 0x0021;

/** Version of the format that a reader must know: with 64 bit sizes, and without. */
const versionFor = (isLarge: boolean): number => (isLarge ? 45 : 20);

/** Unix permissions of a regular file: rw-r--r--. */
const MADE_ON_UNIX = 3;
const PLAIN_FILE = 0o100644;

/** Writes numbers one after the other, the lowest byte first. */
class Fields {
  readonly bytes: Uint8Array<ArrayBuffer>;
  private readonly view: DataView;
  private at = 0;

  constructor(count: number) {
    this.bytes = new Uint8Array(count);
    this.view = new DataView(this.bytes.buffer);
  }

  u16(...values: readonly number[]): this {
    for (const value of values) {
      this.view.setUint16(this.at, value, true);
      this.at += 2;
    }
    return this;
  }

  u32(...values: readonly number[]): this {
    for (const value of values) {
      this.view.setUint32(this.at, value, true);
      this.at += 4;
    }
    return this;
  }

  u64(...values: readonly number[]): this {
    for (const value of values) {
      this.view.setBigUint64(this.at, BigInt(value), true);
      this.at += 8;
    }
    return this;
  }

  raw(bytes: Uint8Array): this {
    this.bytes.set(bytes, this.at);
    this.at += bytes.length;
    return this;
  }
}

/** The extra field with 64 bit values; empty where there are none. */
const extraOf = (values: readonly number[]): Uint8Array =>
  values.length === 0
    ? new Uint8Array()
    : new Fields(4 + 8 * values.length).u16(zip.EXTRA_64, 8 * values.length).u64(...values).bytes;

/**
 * An uncompressed zip, as its parts in order: records as bytes, and the content of each file. Sound hardly gets
 * smaller by compression. Sizes and offsets from `largest` on are written in 64 bits (ZIP64); tests use a smaller value.
 */
export function* zipParts<Content>(
  files: readonly ZipFile<Content>[],
  largest = zip.ELSEWHERE_32,
): Generator<Uint8Array<ArrayBuffer> | { readonly content: Content }> {
  const utf8 = new TextEncoder();
  const central: Uint8Array<ArrayBuffer>[] = [];
  let at = 0;
  for (const { name, bytes, crc32, content } of files) {
    const words = utf8.encode(name);
    const isLarge = bytes >= largest;
    const isFar = at >= largest;
    const size = isLarge ? zip.ELSEWHERE_32 : bytes;
    const local = extraOf(isLarge ? [bytes, bytes] : []);
    const head = new Fields(zip.LOCAL_BYTES + words.length + local.length)
      .u32(zip.LOCAL)
      .u16(versionFor(isLarge), zip.UTF_8, zip.STORED, 0, FIRST_DAY)
      .u32(crc32, size, size)
      .u16(words.length, local.length)
      .raw(words)
      .raw(local).bytes;
    const extra = extraOf([...(isLarge ? [bytes, bytes] : []), ...(isFar ? [at] : [])]);
    const version = versionFor(isLarge || isFar);
    central.push(
      new Fields(zip.CENTRAL_BYTES + words.length + extra.length)
        .u32(zip.CENTRAL)
        .u16((MADE_ON_UNIX << 8) | version, version, zip.UTF_8, zip.STORED, 0, FIRST_DAY)
        .u32(crc32, size, size)
        .u16(words.length, extra.length, 0, 0, 0)
        .u32(PLAIN_FILE * 0x10000, isFar ? zip.ELSEWHERE_32 : at)
        .raw(words)
        .raw(extra).bytes,
    );
    yield head;
    yield { content };
    at += head.length + bytes;
  }
  yield* central;
  yield endOf({ files: files.length, at, bytes: central.reduce((sum, { length }) => sum + length, 0) }, largest);
}

/** The end record: number of files, and location of their list. */
const endOf = (
  list: { readonly files: number; readonly at: number; readonly bytes: number },
  largest: number,
): Uint8Array<ArrayBuffer> => {
  const { files, at, bytes } = list;
  const isLarge = at >= largest || bytes >= largest || files >= zip.ELSEWHERE_16;
  const fields = new Fields((isLarge ? zip.END_64_BYTES + zip.LOCATOR_64_BYTES : 0) + zip.END_BYTES);
  if (isLarge) {
    const version = versionFor(true);
    fields
      .u32(zip.END_64)
      .u64(zip.END_64_BYTES - 12)
      .u16((MADE_ON_UNIX << 8) | version, version)
      .u32(0, 0)
      .u64(files, files, bytes, at)
      .u32(zip.LOCATOR_64, 0)
      .u64(at + bytes)
      .u32(1);
  }
  const count = isLarge ? zip.ELSEWHERE_16 : files;
  const [size, start] = isLarge ? [zip.ELSEWHERE_32, zip.ELSEWHERE_32] : [bytes, at];
  return fields.u32(zip.END).u16(0, 0, count, count).u32(size, start).u16(0).bytes;
};
