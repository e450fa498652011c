/** Random access to the bytes of a file. */
export interface ByteSource {
  /** Size, bytes. */
  readonly size: number;
  /** The `count` bytes from `at` on; `into`, at least as long, may be what holds them. @throws ProblemError where they cannot be read */
  bytes(at: number, count: number, into?: Uint8Array): Uint8Array;
}

/** A source that must be closed. */
export interface OpenSource extends ByteSource {
  close(): void;
}

/** A source of bytes in memory. */
export const bytesInMemory = (all: Uint8Array): OpenSource => ({
  size: all.byteLength,
  bytes: (at, count) => all.subarray(at, at + count),
  close: () => undefined,
});
