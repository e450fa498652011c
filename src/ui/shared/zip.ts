import { blobPieces } from '../../files/bytes/blob-pieces.ts';
import { readToEnd } from '../../files/bytes/sha256.ts';
import { RunningCrc } from '../../files/zip/running-crc.ts';
import { zipParts, type ZipFile } from '../../files/zip/zip-write.ts';

interface NamedFile {
  /** File name with its ending. */
  readonly name: string;
  readonly data: Blob;
}

/** One zip of files of which sizes and checksums are known, stored without compression. The browser keeps what they hold where it is. */
export const zipBlob = (files: readonly ZipFile<Blob>[]): Blob => {
  const parts = [...zipParts(files)].map((part) => ('content' in part ? part.content : part));
  return new Blob(parts, { type: 'application/zip' });
};

/** One zip of all the files. */
export const zipped = async (files: readonly NamedFile[]): Promise<Blob> => {
  const summed: ZipFile<Blob>[] = [];
  for (const { name, data } of files) {
    const crc = await RunningCrc.begin();
    await readToEnd(crc.of(blobPieces(data)));
    summed.push({ name, bytes: data.size, crc32: crc.value(), content: data });
  }
  return zipBlob(summed);
};
