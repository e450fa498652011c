import { readdirSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { framesOf } from '../../../src/audio/audio.ts';
import { STRETCH } from '../../../src/audio/samples.ts';
import { ScratchFile, scratchKeeper } from '../../../src/files/node/node-scratch.ts';
import { openWav } from '../../../src/files/node/node-wav-sound.ts';
import { readWav } from '../../../src/files/wav/wav-read.ts';
import { writeWav } from '../../../src/files/wav/wav-write.ts';
import { hashOfSound } from '../../../src/render/content-hash.ts';
import { expectSameSamples } from '../../helpers/same-samples.ts';
import { scratchFolder } from '../../helpers/scratch-folder.ts';
import { stereo, whiteNoise } from '../../helpers/signals.ts';

const { folder, write } = scratchFolder('sound');

describe('a WAV file read as it is needed', () => {
  const sound = stereo(whiteNoise(3, 1), whiteNoise(3, 2));

  test.each(['16', '24', '32f'] as const)('holds at %s bits the samples of the file read whole', async (bits) => {
    const { bytes } = writeWav(sound, bits);
    const whole = readWav(bytes, 'whole');
    const read = (await openWav(write(`${bits}.wav`, bytes)))!;
    expect(framesOf(read)).toBe(framesOf(whole));
    for (const [from, to] of [
      [0, framesOf(whole)],
      [STRETCH - 9, STRETCH + 9],
      [framesOf(whole) - 1, framesOf(whole)],
      [9, 9],
    ] as const)
      read.channels.forEach((channel, c) =>
        expectSameSamples(channel.subarray(from, to), whole.channels[c]!.subarray(from, to)),
      );
    expect(hashOfSound(read)).toBe(hashOfSound(whole));
    expect(hashOfSound(read)).not.toBe(hashOfSound(stereo(whole.channels[1]!, whole.channels[0])));
  });

  test('that is cut short is refused when it is opened; another kind of file, or a very short one, is read whole', async () => {
    const { bytes } = writeWav(sound, '16');
    await expect(openWav(write('cut.wav', bytes.subarray(0, bytes.length - 1000)))).rejects.toThrow(/1000 missing/);
    await expect(openWav(join(folder, 'none.wav'))).rejects.toThrow(/none\.wav/);
    expect(await openWav(write('words.wav', new TextEncoder().encode('no sound at all')))).toBeNull();
    expect(await openWav(write('short.wav', writeWav(stereo(new Float32Array(9)), '16').bytes))).toBeNull();
  });
});

describe('a scratch file', () => {
  const named = (): string[] => readdirSync(tmpdir()).filter((name) => name.startsWith('tributary-'));

  test('leaves no name behind from the first, and gives back what it was given', () => {
    const before = new Set(named());
    const file = new ScratchFile();
    expect(named().filter((name) => !before.has(name))).toEqual([]);
    file.write(Uint8Array.of(1, 2, 3), 5_000_000);
    const back = new Uint8Array(3);
    file.read(back, 5_000_000);
    expect([...back]).toEqual([1, 2, 3]);
    expect(() => file.read(back, 5_000_001)).toThrow(/end/);
  });

  test('keeps what is printed, in memory and with one sentence where the disk refuses', () => {
    const wanted = process.env['TMPDIR'];
    for (const [place, sentences] of [
      [wanted, 0],
      [join(folder, 'not there'), 1],
    ] as const) {
      if (place === undefined) delete process.env['TMPDIR'];
      else process.env['TMPDIR'] = place;
      const told: string[] = [];
      const sink = scratchKeeper((sentence) => told.push(sentence)).hold();
      for (let n = 0; n < 3; n++) sink.write(new Uint8Array(700_000).fill(n));
      const bytes = Buffer.concat([...sink.end(new Uint8Array([9]))]);
      const written = [0, 1, 2].map((n) => Buffer.alloc(700_000, n));
      expect(bytes.equals(Buffer.concat([Buffer.from([9]), ...written]))).toBe(true);
      expect(told).toHaveLength(sentences);
      if (sentences > 0) expect(told[0]).toContain('TMPDIR');
    }
    if (wanted === undefined) delete process.env['TMPDIR'];
    else process.env['TMPDIR'] = wanted;
  });
});
