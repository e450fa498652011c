/** Builds AIFF, AIFC and CAF files for the tests of their readers. */

const ascii = (text: string): number[] => [...text].map((char) => char.charCodeAt(0));

/** Big-endian bytes of a whole number. */
export const be = (value: number, bytes: number): number[] =>
  Array.from({ length: bytes }, (_, n) => Math.floor(value / 256 ** (bytes - 1 - n)) & 0xff);

/** 80 bit extended float of a whole number from 2^15 to 2^16 - 1 or 2^16 to 2^17 - 1: 48000 is 400e bb80 0... */
const extended = (rate: number): number[] => {
  const exponent = Math.floor(Math.log2(rate));
  return [...be(16383 + exponent, 2), ...be(rate * 2 ** (31 - exponent), 4), 0, 0, 0, 0];
};

export interface AiffFields {
  readonly bits: number;
  readonly frames: number;
  readonly channels?: number;
  readonly rate?: number;
  /** Compression type: makes it an AIFC file. */
  readonly type?: string;
  /** Stands before the samples. */
  readonly offset?: number;
}

/** An AIFF file around the bytes of its samples; an odd chunk stands before them. */
export const aiffOf = (fields: AiffFields, samples: readonly number[]): Uint8Array => {
  const { bits, frames, channels = 1, rate = 48000, type, offset = 0 } = fields;
  const common = [...be(channels, 2), ...be(frames, 4), ...be(bits, 2), ...extended(rate)];
  const typed = type === undefined ? common : [...common, ...ascii(type), 0, 0];
  const sound = [...be(offset, 4), ...be(0, 4), ...new Array<number>(offset).fill(7), ...samples];
  const chunk = (id: string, body: readonly number[]): number[] => [
    ...ascii(id),
    ...be(body.length, 4),
    ...body,
    ...(body.length % 2 ? [0] : []),
  ];
  const body = [...chunk('COMM', typed), ...chunk('NAME', ascii('odd')), ...chunk('SSND', sound)];
  return Uint8Array.from([...ascii('FORM'), ...be(body.length + 4, 4), ...ascii(type ? 'AIFC' : 'AIFF'), ...body]);
};

export interface CafFields {
  readonly bits: number;
  readonly flags: number;
  readonly channels?: number;
  readonly coding?: string;
  /** What the data chunk says of its size; -1: to the end. */
  readonly declared?: number;
}

/** A CAF file at 44.1 kHz around the bytes of its samples. */
export const cafOf = (
  { bits, flags, channels = 1, coding = 'lpcm', declared }: CafFields,
  samples: readonly number[],
) => {
  const rate = [...new Uint8Array(Float64Array.of(44100).buffer)].reverse();
  const desc = [...rate, ...ascii(coding), ...be(flags, 4), ...be((bits / 8) * channels, 4), ...be(1, 4)];
  const described = [...desc, ...be(channels, 4), ...be(bits, 4)];
  const size = declared ?? samples.length + 4;
  const length = size < 0 ? new Array<number>(8).fill(255) : be(size, 8);
  return Uint8Array.from([
    ...[...ascii('caff'), ...be(1, 2), ...be(0, 2)],
    ...[...ascii('desc'), ...be(32, 8), ...described],
    ...[...ascii('data'), ...length, ...be(0, 4), ...samples],
  ]);
};
