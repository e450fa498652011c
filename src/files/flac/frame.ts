import type { BitWriter } from './bit-writer.ts';
import { crc16, crc8 } from './crc.ts';
import { putSubframe, subframeOf, type Subframe } from './subframe.ts';

/** Samples of a channel in a frame; the last may have fewer. */
export const BLOCK_FRAMES = 4096;

/** Sample rates with a code of their own (RFC 9639, section 9.1.2). */
const RATES: Readonly<Record<number, number>> = {
  ...{ 88_200: 1, 176_400: 2, 192_000: 3, 8000: 4, 16_000: 5, 22_050: 6 },
  ...{ 24_000: 7, 32_000: 8, 44_100: 9, 48_000: 10, 96_000: 11 },
};

/** Coding of a frame's sample rate: 4 bits in its header, and `width` bits after that. */
const rateOf = (hz: number): { readonly code: number; readonly width: number; readonly value: number } => {
  const code = RATES[hz];
  if (code !== undefined) return { code, width: 0, value: 0 };
  if (hz < 2 ** 16) return { code: 13, width: 16, value: hz };
  if (hz % 10 === 0 && hz / 10 < 2 ** 16) return { code: 14, width: 16, value: hz / 10 };
  // The rate is then in the stream header only.
  return { code: 0, width: 0, value: 0 };
};

/** Channel assignment of a frame, and its subframes. */
interface Coupled {
  /** RFC 9639, section 9.1.3. */
  readonly assignment: number;
  readonly subframes: readonly Subframe[];
}

const bitsOf = ({ subframes }: Coupled): number => subframes.reduce((sum, { bits }) => sum + bits, 0);

/** Left and right, or one of left, right and mid together with the side: whichever is shortest. */
const coupled = (blocks: readonly Int32Array[], bits: number): Coupled => {
  const apart = blocks.map((block) => subframeOf(block, bits));
  const alone: Coupled = { assignment: blocks.length - 1, subframes: apart };
  if (blocks.length !== 2) return alone;
  const [left, right] = blocks as [Int32Array, Int32Array];
  const [leftFrame, rightFrame] = apart as [Subframe, Subframe];
  const side = subframeOf(
    left.map((x, i) => x - right[i]!),
    bits + 1,
  );
  const middle = subframeOf(
    left.map((x, i) => (x + right[i]!) >> 1),
    bits,
  );
  const ways: readonly Coupled[] = [
    { assignment: 8, subframes: [leftFrame, side] },
    { assignment: 9, subframes: [side, rightFrame] },
    { assignment: 10, subframes: [middle, side] },
  ];
  return ways.reduce((best, way) => (bitsOf(way) < bitsOf(best) ? way : best), alone);
};

/** A number in one to seven bytes as UTF-8 would write it (RFC 9639, section 9.1.5). */
const putNumber = (out: BitWriter, value: number): void => {
  if (value < 0x80) return out.put(value, 8);
  let more = 1;
  while (value >= 2 ** (5 * more + 6)) more++;
  const lead = 0xff ^ (2 ** (7 - more) - 1);
  out.put((lead & 0xff) | Math.floor(value / 2 ** (6 * more)), 8);
  for (let n = more - 1; n >= 0; n--) out.put(0x80 | (Math.floor(value / 2 ** (6 * n)) & 0x3f), 8);
};

/**
 * Writes one frame (RFC 9639, section 9).
 * @param blocks whole numbers of each channel, 1 to BLOCK_FRAMES of them
 * @param number of the frame, from 0 on
 */
export const putFrame = (
  out: BitWriter,
  blocks: readonly Int32Array[],
  { bits, sampleRate }: { readonly bits: 16 | 24; readonly sampleRate: number },
  number: number,
): Uint8Array<ArrayBuffer> => {
  const frames = blocks[0]!.length;
  const isWhole = frames === BLOCK_FRAMES;
  const rate = rateOf(sampleRate);
  const { assignment, subframes } = coupled(blocks, bits);
  out.put(0xfff8, 16);
  out.put(isWhole ? 12 : 7, 4);
  out.put(rate.code, 4);
  out.put(assignment, 4);
  out.put(bits === 16 ? 4 : 6, 3);
  out.put(0, 1);
  putNumber(out, number);
  if (!isWhole) out.put(frames - 1, 16);
  out.put(rate.value, rate.width);
  out.put(crc8(out.written()), 8);
  for (const subframe of subframes) putSubframe(out, subframe);
  out.align();
  out.put(crc16(out.written()), 16);
  return out.take();
};
