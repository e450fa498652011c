import { BlobBytes } from '../../src/files/bytes/blob-bytes.ts';
import { ProblemError } from '../../src/session/problem.ts';

// Reads a file's bytes in order and in leaps, and tells which of them were not as they are.
const CHUNK = 2 ** 20;
const all = Uint8Array.from({ length: 3 * CHUNK + 12_345 }, (_, n) => (n * 2_654_435_761) >>> 13);

const told = async (): Promise<string[]> => {
  const bytes = new BlobBytes(new Blob([all]), 'song.wav');
  const wrong: string[] = [];
  const look = (at: number, count: number): void => {
    const read = bytes.bytes(at, count);
    if (read.length !== count || !read.every((byte, n) => byte === all[at + n])) wrong.push(`${count} from ${at}`);
  };
  for (let at = 0, n = 0; at < all.length; at += 300_007, n++) {
    look(at, Math.min(300_007, all.length - at));
    // What was asked for ahead arrives before it is needed, or not.
    if (n % 3 > 0) await new Promise((resolve) => setTimeout(resolve, 20));
  }
  for (const [at, count] of [
    [2 * CHUNK - 5, 10],
    [0, 1],
    [CHUNK, CHUNK],
    [5, 0],
    [CHUNK - 1, 2 * CHUNK + 2],
  ] as const)
    look(at, count);
  try {
    bytes.bytes(all.length - 3, 4);
    wrong.push('what lies beyond the end was read');
  } catch (error) {
    if (!(error instanceof ProblemError) || !error.message.includes('song.wav')) wrong.push(String(error));
  }
  return wrong;
};

void told().then(postMessage, (error: unknown) => postMessage([String(error)]));
