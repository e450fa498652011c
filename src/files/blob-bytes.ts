import { ProblemError } from '../session/problem.ts';
import type { ByteSource } from './wav-sound.ts';

/** Whether files can be read here while the thread waits: in workers alone. */
export const canReadBlobs = (): boolean => typeof FileReaderSync !== 'undefined';

/** Bytes of a file that the page was given. */
export class BlobBytes implements ByteSource {
  private readonly reader = new FileReaderSync();

  constructor(
    private readonly blob: Blob,
    /** What messages call the file. */
    private readonly name: string,
  ) {}

  get size(): number {
    return this.blob.size;
  }

  bytes(at: number, count: number): Uint8Array {
    try {
      return new Uint8Array(this.reader.readAsArrayBuffer(this.blob.slice(at, at + count)));
    } catch {
      const expected = 'the file as it was when it was added';
      const found = 'one that was changed, moved or deleted since (add it again)';
      throw new ProblemError({ code: 'unreadable', path: this.name, expected, found });
    }
  }
}
