import { createMD5 } from 'hash-wasm';
import { joinedBytes } from '../bytes/joined-bytes.ts';
import { BitWriter } from './bit-writer.ts';
import { BLOCK_FRAMES, putFrame } from './frame.ts';

/** Most frames that the stream's header can state. */
const MOST_FRAMES = 2 ** 36 - 1;

const textBytes = (text: string): Uint8Array => {
  const letters = new TextEncoder().encode(text);
  const bytes = new Uint8Array(4 + letters.length);
  new DataView(bytes.buffer).setUint32(0, letters.length, true);
  bytes.set(letters, 4);
  return bytes;
};

const blockOf = (type: number, content: Uint8Array, isLast: boolean): Uint8Array => {
  const head = new Uint8Array(4);
  new DataView(head.buffer).setUint32(0, content.length);
  head[0] = type | (isLast ? 0x80 : 0);
  return joinedBytes([head, content]);
};

/** Names and values of a Vorbis comment, in their order. */
type FlacComments = readonly (readonly [name: string, value: string])[];

/** Format of a FLAC stream. */
interface FlacFormat {
  readonly bits: 16 | 24;
  /** Hz, 1 to 655350. */
  readonly sampleRate: number;
  /** 1 to 8. */
  readonly channels: number;
}

/** Writes sound as FLAC (RFC 9639) frame by frame; the head of the stream is known when all is written. */
export class FlacStream {
  private readonly out = new BitWriter();
  /** Samples that do not fill a frame yet. */
  private readonly blocks: Int32Array[];
  private held = 0;
  private written = 0;
  private frames = 0;
  private smallest = 2 ** 24 - 1;
  private largest = 0;

  private constructor(
    private readonly format: FlacFormat,
    private readonly md5: Awaited<ReturnType<typeof createMD5>>,
  ) {
    this.blocks = Array.from({ length: format.channels }, () => new Int32Array(BLOCK_FRAMES));
  }

  static async begin(format: FlacFormat): Promise<FlacStream> {
    const md5 = await createMD5();
    return new FlacStream(format, md5.init());
  }

  /**
   * @param samples of each channel, full scale 1, exact at the word length
   * @param plain the same as interleaved little-endian integers of that length, for the digest in the header
   * @returns the completed frames
   */
  push(samples: readonly Float32Array[], plain: Uint8Array): Uint8Array<ArrayBuffer> {
    this.md5.update(plain);
    const scale = 2 ** (this.format.bits - 1);
    const frames = samples[0]!.length;
    const done: Uint8Array[] = [];
    for (let from = 0; from < frames;) {
      const count = Math.min(frames - from, BLOCK_FRAMES - this.held);
      this.blocks.forEach((block, c) => {
        const channel = samples[c]!;
        for (let i = 0; i < count; i++) block[this.held + i] = channel[from + i]! * scale;
      });
      this.held += count;
      from += count;
      if (this.held === BLOCK_FRAMES) done.push(this.frame());
    }
    return joinedBytes(done);
  }

  /** The last frame. */
  end(): Uint8Array<ArrayBuffer> {
    return this.held === 0 ? new Uint8Array() : this.frame();
  }

  /** Everything before the frames, known once they are written: the stream header (RFC 9639, section 8.2) and comments. */
  head(vendor: string, comments: FlacComments): Uint8Array<ArrayBuffer> {
    const { bits, sampleRate, channels } = this.format;
    const out = new BitWriter();
    out.put(BLOCK_FRAMES, 16);
    out.put(BLOCK_FRAMES, 16);
    out.put(this.written === 0 ? 0 : this.smallest, 24);
    out.put(this.largest, 24);
    out.put(sampleRate, 20);
    out.put(channels - 1, 3);
    out.put(bits - 1, 5);
    const frames = Math.min(MOST_FRAMES, this.frames);
    out.put(Math.floor(frames / 2 ** 32), 4);
    out.put(frames, 32);
    const info = joinedBytes([out.take(), this.md5.digest('binary')]);
    const count = new Uint8Array(4);
    new DataView(count.buffer).setUint32(0, comments.length, true);
    const lines = comments.map(([name, value]) => textBytes(`${name}=${value}`));
    const told = joinedBytes([textBytes(vendor), count, ...lines]);
    return joinedBytes([new TextEncoder().encode('fLaC'), blockOf(0, info, false), blockOf(4, told, true)]);
  }

  private frame(): Uint8Array<ArrayBuffer> {
    const blocks = this.blocks.map((block) => block.subarray(0, this.held));
    const bytes = putFrame(this.out, blocks, this.format, this.written++);
    this.smallest = Math.min(this.smallest, bytes.length);
    this.largest = Math.max(this.largest, bytes.length);
    this.frames += this.held;
    this.held = 0;
    return bytes;
  }
}
