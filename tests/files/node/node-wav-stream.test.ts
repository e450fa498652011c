import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { WavStream } from '../../../src/files/node/node-wav-stream.ts';
import { readWav } from '../../../src/files/wav/wav-read.ts';
import { writeWav } from '../../../src/files/wav/wav-write.ts';
import { scratchFolder } from '../../helpers/scratch-folder.ts';
import { stereo, whiteNoise } from '../../helpers/signals.ts';
import { data, floatBytes, fmt, integerBytes, wavOf } from '../wav-bytes.ts';

const { folder, write } = scratchFolder('stream');

const allOf = async (path: string, from?: number, to?: number): Promise<number[][]> => {
  const stream = (await WavStream.open(path))!;
  const channels: number[][] = Array.from({ length: stream.format.channels }, () => []);
  try {
    for await (const piece of stream.pieces(from, to)) {
      piece.channels.forEach((samples, c) => {
        for (let n = 0; n < piece.count; n++) channels[c]!.push(samples[n]!);
      });
    }
  } finally {
    await stream.close();
  }
  return channels;
};

describe('a WAV file read piece by piece', () => {
  const sound = stereo(whiteNoise(3, 1), whiteNoise(3, 2));

  test.each(['16', '24', '32f'] as const)('holds at %s bits the samples of the file read whole', async (kind) => {
    const { bytes } = writeWav(sound, kind);
    const path = write(`${kind}.wav`, bytes);
    const whole = readWav(bytes, path).channels.map((channel) => Array.from(channel));
    expect(await allOf(path)).toEqual(whole);
    expect(await allOf(path, 70_000, 140_001)).toEqual(whole.map((channel) => channel.slice(70_000, 140_001)));
  });

  test('is read by its samples alone where other chunks stand behind them', async () => {
    const bytes = wavOf([fmt({ tag: 1, bits: 16 }), data(integerBytes([1, 2, 3], 16)), data(integerBytes([9], 16))]);
    expect(await allOf(write('more.wav', bytes))).toEqual([[1 / 32768, 2 / 32768, 3 / 32768]]);
  });

  test('that is cut short is refused when it is opened', async () => {
    const { bytes } = writeWav(sound, '16');
    const path = write('cut.wav', bytes.subarray(0, bytes.length - 1000));
    await expect(WavStream.open(path)).rejects.toThrow(/cut\.wav.+1000 missing/);
  });

  test('with a sample that is no number is refused where that stands', async () => {
    const samples = Array.from({ length: 70_000 }, (_, n) => (n === 66_000 ? NaN : 0));
    const path = write('nan.wav', wavOf([fmt({ tag: 3, bits: 32 }), data(floatBytes(samples, 32))]));
    await expect(allOf(path)).rejects.toThrow(/nan\.wav.+NaN at sample 66000 of channel 1/);
  });

  test('is no stream if it is another kind of file, and a missing one or a folder is told', async () => {
    expect(await WavStream.open(write('text.wav', Buffer.from('not a sound')))).toBeNull();
    await expect(WavStream.open(join(folder, 'none.wav'))).rejects.toThrow(/none\.wav.+nothing there/);
    await expect(WavStream.open(folder)).rejects.toThrow(/a folder/);
  });
});
