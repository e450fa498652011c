/** Builds WAV files chunk by chunk, right or wrong, for the tests of the reader. */

export type WavChunkBytes = readonly [id: string, body: Uint8Array, declaredSize?: number];

const ascii = (text: string): number[] => [...text].map((char) => char.charCodeAt(0));
export const u16 = (value: number): number[] => [value & 0xff, (value >> 8) & 0xff];
export const u32 = (value: number): number[] => [...u16(value & 0xffff), ...u16(Math.floor(value / 0x10000) & 0xffff)];
export const u64 = (value: number): number[] => [...u32(value), ...u32(Math.floor(value / 2 ** 32))];

/** A RIFF-like file of the given chunks, each padded to even length. */
export function wavOf(chunks: readonly WavChunkBytes[], form = 'RIFF', riffSize?: number): Uint8Array {
  const body = chunks.flatMap(([id, bytes, size]) => [
    ...ascii(id),
    ...u32(size ?? bytes.length),
    ...bytes,
    ...(bytes.length % 2 ? [0] : []),
  ]);
  return Uint8Array.from([...ascii(form), ...u32(riffSize ?? body.length + 4), ...ascii('WAVE'), ...body]);
}

export interface FormatFields {
  readonly tag: number;
  readonly bits: number;
  readonly channels?: number;
  readonly sampleRate?: number;
}

/** A plain `fmt ` chunk of 16 bytes. */
export function fmt({ tag, bits, channels = 1, sampleRate = 48000 }: FormatFields): WavChunkBytes {
  const block = (channels * bits) / 8;
  const fields = [u16(tag), u16(channels), u32(sampleRate), u32(sampleRate * block), u16(block), u16(bits)];
  return ['fmt ', Uint8Array.from(fields.flat())];
}

/** A WAVE_FORMAT_EXTENSIBLE `fmt ` chunk of 40 bytes. */
export function extensible(fields: FormatFields, validBits = fields.bits): WavChunkBytes {
  const plain = fmt({ ...fields, tag: 0xfffe })[1];
  const tail = [0, 0, 0, 0, 0x10, 0, 0x80, 0, 0, 0xaa, 0, 0x38, 0x9b, 0x71];
  return ['fmt ', Uint8Array.from([...plain, ...u16(22), ...u16(validBits), ...u32(4), ...u16(fields.tag), ...tail])];
}

export const data = (bytes: ArrayLike<number>, declaredSize = bytes.length): WavChunkBytes => [
  'data',
  Uint8Array.from(bytes),
  declaredSize,
];

/** Little-endian bytes of whole numbers. */
export const integerBytes = (values: readonly number[], bits: number): number[] =>
  values.flatMap((value) => Array.from({ length: bits / 8 }, (_, i) => Math.floor(value / 2 ** (8 * i)) & 0xff));

/** Little-endian bytes of float32 or float64 values. */
export const floatBytes = (values: readonly number[], bits: 32 | 64): Uint8Array =>
  new Uint8Array((bits === 32 ? Float32Array.from(values) : Float64Array.from(values)).buffer);
