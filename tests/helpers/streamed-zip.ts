import { Zip, ZipDeflate } from 'fflate';
import { joinedBytes } from '../../src/files/bytes/joined-bytes.ts';

/** A zip of one file that was written in one pass, so that size and CRC follow the content of the entry. */
export const streamedZip = (name: string, content: Uint8Array): Uint8Array<ArrayBuffer> => {
  const parts: Uint8Array[] = [];
  const zip = new Zip((_, part) => parts.push(part));
  const entry = new ZipDeflate(name);
  zip.add(entry);
  entry.push(content, true);
  zip.end();
  return joinedBytes(parts);
};
