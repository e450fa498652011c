import { expect, test } from 'vitest';
import { timeReferenceOf } from '../../../src/files/wav/time-reference.ts';
import { wavHead } from '../../../src/files/wav/wav-head.ts';
import { wavLayoutOf, type WavFormat } from '../../../src/files/wav/wav-layout.ts';
import { bextChunk, cueChunks } from '../../../src/files/wav/wav-tags.ts';

const format: WavFormat = { encoding: 'integer', bits: 24, channels: 2, sampleRate: 48_000 };
const figures = {
  ...{ integratedLufs: -14.237, loudnessRangeLu: 6.5, truePeakDbtp: -1.004 },
  ...{ maxMomentaryLufs: null, maxShortTermLufs: -11.2 },
};

test('a broadcast extension stands as EBU Tech 3285 v2 lays it out', () => {
  const facts = { description: 'Ünder – Sea', originator: 'Tributary', startFrame: 2 ** 33 + 7, format, figures };
  const { id, content } = bextChunk(facts);
  const view = new DataView(content.buffer);
  const text = (at: number, size: number): string =>
    new TextDecoder().decode(content.subarray(at, at + size)).replace(/\0+$/, '');
  expect(id).toBe('bext');
  // Offsets and the unused value 7FFF: EBU Tech 3285 v2, clause 2.3.
  expect([text(0, 256), text(256, 32), text(320, 18)]).toEqual(['Under ? Sea', 'Tributary', '']);
  expect([view.getUint32(338, true), view.getUint32(342, true), view.getUint16(346, true)]).toEqual([7, 2, 2]);
  const loudness = [0, 1, 2, 3, 4].map((n) => view.getInt16(412 + 2 * n, true));
  expect(loudness).toEqual([-1424, 650, -100, 0x7fff, -1120]);
  expect(text(602, 100)).toBe('A=PCM,F=48000,W=24,M=stereo,T=integer\r\n');
  expect(timeReferenceOf(wavHead(format, 0, [bextChunk(facts)]))).toBe(2 ** 33 + 7);
});

test('samples are found behind tags of odd length, and cue points keep their names', () => {
  const chunks = cueChunks([
    { frame: 0, name: 'Verse' },
    { frame: 96_000, name: 'Lift' },
  ]);
  const head = wavHead(format, 1, [...chunks, { id: 'odd ', content: new Uint8Array(3) }]);
  const file = Uint8Array.from([...head, 1, 2, 3, 4, 5, 6]);
  expect(wavLayoutOf(file, 'x.wav')).toEqual({ format, start: head.length, bytes: 6 });
  const [cue, list] = chunks.map(({ content }) => new DataView(content.buffer));
  expect([cue!.getUint32(0, true), cue!.getUint32(4 + 24 + 20, true)]).toEqual([2, 96_000]);
  expect(new TextDecoder().decode(list!.buffer)).toMatch(/^adtllabl.*Verse\0labl.*Lift\0/s);
  expect(cueChunks([])).toEqual([]);
});

test('from 4 GiB on a file is RF64, with its sizes in ds64 (EBU Tech 3306)', () => {
  const frames = 2 ** 30;
  const head = wavHead(format, frames);
  const view = new DataView(head.buffer);
  const name = (at: number): string => String.fromCharCode(...head.subarray(at, at + 4));
  expect([name(0), view.getUint32(4, true), name(12)]).toEqual(['RF64', 0xffffffff, 'ds64']);
  const dataBytes = 6 * frames;
  const sizes = [20, 28, 36].map((at) => Number(view.getBigUint64(at, true)));
  expect(sizes).toEqual([head.length + dataBytes - 8, dataBytes, frames]);
  expect(wavLayoutOf(head, 'x.wav', head.length + dataBytes)).toEqual({ format, start: head.length, bytes: dataBytes });
  expect(String.fromCharCode(...wavHead(format, 7e8).subarray(0, 4))).toBe('RIFF');
});
