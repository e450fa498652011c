import { createCRC32 } from 'hash-wasm';
import type { BytePieces } from '../bytes/sha256.ts';

/** CRC-32 (ISO 3309, the one that zips hold) and size of bytes that pass by. */
export class RunningCrc {
  bytes = 0;

  private constructor(private readonly hasher: Awaited<ReturnType<typeof createCRC32>>) {}

  static async begin(): Promise<RunningCrc> {
    return new RunningCrc(await createCRC32());
  }

  /** As an unsigned number, of what has passed so far. To be asked once. */
  value(): number {
    return parseInt(this.hasher.digest('hex'), 16);
  }

  /** The same pieces. */
  async *of(pieces: BytePieces): AsyncGenerator<Uint8Array> {
    for await (const piece of pieces) {
      this.hasher.update(piece);
      this.bytes += piece.length;
      yield piece;
    }
  }
}
