import type { Measurement } from '../../measure/figures.ts';
import type { WavChunk } from './wav-head.ts';
import type { WavFormat } from './wav-layout.ts';
import { joinedBytes } from '../bytes/joined-bytes.ts';

/** Bytes of a `bext` chunk of version 2 before its coding history (EBU Tech 3285 v2, clause 2.3). */
const BEXT_BYTES = 602;
/** Value of a loudness field for "no value" (the same clause). */
const NO_VALUE = 0x7fff;

const bytesOf = (text: string): Uint8Array => new TextEncoder().encode(text);

/** A text in a field of `size` bytes, ASCII as the standard requires: accents are removed, other letters become "?". */
const asciiField = (text: string, size: number): Uint8Array => {
  const plain = text
    .normalize('NFKD')
    .replace(/\p{M}/gu, '')
    .replace(/[^\x20-\x7e]/gu, '?');
  const field = new Uint8Array(size);
  field.set(bytesOf(plain.slice(0, size)));
  return field;
};

/** Metadata of a broadcast WAV file. */
interface BroadcastFacts {
  /** Description, up to 256 letters. */
  readonly description: string;
  readonly originator: string;
  /** Frame of the song at which the file begins. */
  readonly startFrame: number;
  readonly format: WavFormat;
  readonly figures: Pick<
    Measurement,
    'integratedLufs' | 'loudnessRangeLu' | 'truePeakDbtp' | 'maxMomentaryLufs' | 'maxShortTermLufs'
  >;
}

/** A loudness field: hundredths. */
const hundredths = (value: number | null): number => (value === null ? NO_VALUE : Math.round(100 * value));

const codingOf = ({ encoding, bits, channels, sampleRate }: WavFormat): string => {
  const mode = channels === 1 ? 'mono' : channels === 2 ? 'stereo' : 'multi';
  return `A=PCM,F=${sampleRate},W=${bits},M=${mode},T=${encoding}\r\n`;
};

/**
 * The broadcast extension chunk (EBU Tech 3285 v2). Date and time of origination are left empty, so that a session printed again
 * gives the same bytes; the date of printing is in the manifest.
 */
export const bextChunk = ({ description, originator, startFrame, format, figures }: BroadcastFacts): WavChunk => {
  const fixed = new Uint8Array(BEXT_BYTES);
  const view = new DataView(fixed.buffer);
  fixed.set(asciiField(description, 256), 0);
  fixed.set(asciiField(originator, 32), 256);
  view.setUint32(338, startFrame % 2 ** 32, true);
  view.setUint32(342, Math.floor(startFrame / 2 ** 32), true);
  view.setUint16(346, 2, true);
  const loudness = [
    ...[figures.integratedLufs, figures.loudnessRangeLu, figures.truePeakDbtp],
    ...[figures.maxMomentaryLufs, figures.maxShortTermLufs],
  ];
  loudness.forEach((value, n) => view.setInt16(412 + 2 * n, hundredths(value), true));
  return { id: 'bext', content: joinedBytes([fixed, bytesOf(codingOf(format))]) };
};

/** A named position in a file. */
export interface CuePoint {
  readonly frame: number;
  readonly name: string;
}

/** Cue points and their names: the chunks `cue ` and `LIST` of type `adtl` (Multimedia Programming Interface and Data Specifications 1.0, 1991); none without points. */
export const cueChunks = (points: readonly CuePoint[]): WavChunk[] => {
  if (points.length === 0) return [];
  const cue = new DataView(new ArrayBuffer(4 + 24 * points.length));
  cue.setUint32(0, points.length, true);
  points.forEach(({ frame }, n) => {
    const at = 4 + 24 * n;
    cue.setUint32(at, n + 1, true);
    cue.setUint32(at + 4, frame, true);
    bytesOf('data').forEach((byte, i) => cue.setUint8(at + 8 + i, byte));
    cue.setUint32(at + 20, frame, true);
  });
  const labels = points.map(({ name }, n) => {
    // Its text ends with a zero byte.
    const text = bytesOf(`${name}\0`);
    const label = new DataView(new ArrayBuffer(12 + text.length + (text.length % 2)));
    bytesOf('labl').forEach((byte, i) => label.setUint8(i, byte));
    label.setUint32(4, 4 + text.length, true);
    label.setUint32(8, n + 1, true);
    text.forEach((byte, i) => label.setUint8(12 + i, byte));
    return new Uint8Array(label.buffer);
  });
  return [
    { id: 'cue ', content: new Uint8Array(cue.buffer) },
    { id: 'LIST', content: joinedBytes([bytesOf('adtl'), ...labels]) },
  ];
};
