import { createCRC32 } from 'hash-wasm';
import type { BytePieces } from '../bytes/sha256.ts';

/** CRC-32 (ISO 3309, as in zips) and number of the bytes that pass through it. */
export class RunningCrc {
  bytes = 0;

  private constructor(private readonly hasher: Awaited<ReturnType<typeof createCRC32>>) {}

  static async begin(): Promise<RunningCrc> {
    return new RunningCrc(await createCRC32());
  }

  /** CRC of the bytes so far, as an unsigned number. To be called once. */
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
