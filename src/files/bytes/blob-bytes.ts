import { ProblemError } from '../../session/problem.ts';
import type { OpenSource } from '../byte-source.ts';

/** Bytes per read: each read from the browser takes a millisecond or more, however few bytes it is. */
const CHUNK = 2 ** 20;

/** Whether files can be read synchronously here: only in workers. */
export const canReadBlobs = (): boolean => typeof FileReaderSync !== 'undefined';

interface Chunk {
  readonly number: number;
  /** null: being read. */
  bytes: Uint8Array | null;
}

/** Bytes of a file that the user added to the page. When read in order, the next bytes are read ahead. */
export class BlobBytes implements OpenSource {
  private readonly reader = new FileReaderSync();
  private last: Chunk | null = null;
  private ahead: Chunk | null = null;

  constructor(
    private readonly blob: Blob,
    /** What messages call the file. */
    private readonly name: string,
  ) {}

  get size(): number {
    return this.blob.size;
  }

  bytes(at: number, count: number): Uint8Array {
    const bytes = new Uint8Array(count);
    for (let done = 0; done < count;) {
      const number = Math.floor((at + done) / CHUNK);
      const start = at + done - number * CHUNK;
      const part = this.chunk(number).subarray(start, start + count - done);
      if (part.length === 0) throw this.gone();
      bytes.set(part, done);
      done += part.length;
    }
    return bytes;
  }

  close(): void {
    this.last = this.ahead = null;
  }

  private chunk(number: number): Uint8Array {
    const { last } = this;
    if (last?.number === number && last.bytes) return last.bytes;
    const bytes = (this.ahead?.number === number && this.ahead.bytes) || this.read(number);
    this.last = { number, bytes };
    this.ahead = number === (last?.number ?? -1) + 1 ? this.askAhead(number + 1) : null;
    return bytes;
  }

  private slice(number: number): Blob {
    return this.blob.slice(number * CHUNK, (number + 1) * CHUNK);
  }

  private read(number: number): Uint8Array {
    try {
      return new Uint8Array(this.reader.readAsArrayBuffer(this.slice(number)));
    } catch {
      throw this.gone();
    }
  }

  private askAhead(number: number): Chunk | null {
    const slice = this.slice(number);
    if (slice.size === 0) return null;
    const chunk: Chunk = { number, bytes: null };
    // A failed read ahead is repeated when the bytes are needed, and then reported.
    slice.arrayBuffer().then(
      (buffer) => (chunk.bytes = new Uint8Array(buffer)),
      () => undefined,
    );
    return chunk;
  }

  private gone(): ProblemError {
    const expected = 'the file as it was when it was added';
    const found = 'one that was changed, moved or deleted since (add it again)';
    return new ProblemError({ code: 'unreadable', path: this.name, expected, found });
  }
}
