import { existsSync, readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { readWav } from '../../src/files/wav-read.ts';
import { measure, measurementOf } from '../../src/measure/measure.ts';
import { Meter } from '../../src/measure/meter.ts';

/** Spoken words and noise of the package alsa-utils, 48 kHz mono, each some 1.4 s. */
const FOLDER = '/usr/share/sounds/alsa';
const isInstalled = existsSync(`${FOLDER}/Front_Center.wav`);
if (!isInstalled) console.warn(`${FOLDER} is not there (package alsa-utils): recorded speech is not measured`);

const wordOf = (name: string) => readWav(readFileSync(`${FOLDER}/${name}.wav`), name);

// Integrated loudness as libebur128 1.2.6 reads these files, true peak by interpolation to 16 values a sample.
describe.skipIf(!isInstalled)('recorded speech', () => {
  test.each([
    ['Front_Center', -21.8222, -6.503],
    ['Front_Left', -21.5141, -6.004],
    ['Rear_Center', -19.4294, -5.999],
    ['Noise', -29.7256, -17.91],
  ])('%s reads %f LUFS and %f dBTP', (name, lufs, dbtp) => {
    const { integratedLufs, truePeakDbtp } = measure(wordOf(name));
    expect(Math.abs(integratedLufs! - lufs)).toBeLessThan(0.001);
    expect(Math.abs(truePeakDbtp! - dbtp)).toBeLessThan(0.02);
  });

  test('reads the same piece by piece, however it is cut', () => {
    const audio = wordOf('Front_Right');
    const meter = new Meter(audio.sampleRate, 1);
    const [samples] = audio.channels as [Float32Array];
    for (let from = 0, n = 1; from < samples.length; n++) {
      const count = Math.min(samples.length - from, (n * 977) % 4001);
      meter.push(audio.channels, from, count);
      from += count;
    }
    expect(measurementOf(meter)).toEqual(measure(audio));
  });
});
