import { describe, expect, test } from 'vitest';
import { readAudioFile } from '../../src/files/node/node-files.ts';
import { measure, measurementOf } from '../../src/measure/measure.ts';
import { Meter } from '../../src/measure/meter.ts';

// Parts of the demo song, 40 s each at 48 kHz: a voice alone with rests, several voices, drums, and all of the music.
// Integrated loudness as libebur128 1.2.6 reads these files; true peak as the greatest of the Fourier interpolation of
// the whole file to 16 values a sample (numpy 1.24, rfft and irfft).
describe('voice and music', () => {
  test.each([
    ['tracks/lead.flac', -18.80746, -4.9951],
    ['tracks/backing.flac', -22.51624, -10.9931],
    ['tracks/snare.flac', -27.08503, -4.0001],
    ['rough.wav', -19.01108, -3.8406],
  ])('%s reads %f LUFS and %f dBTP', async (name, lufs, dbtp) => {
    const { integratedLufs, truePeakDbtp } = measure(await readAudioFile(`demo-audio/${name}`));
    // That library's sums are of single steps of 100 ms too; only rounding differs.
    expect(Math.abs(integratedLufs! - lufs)).toBeLessThan(0.001);
    // 16 values a sample may miss a peak at 20 kHz by 0.02 dB.
    expect(Math.abs(truePeakDbtp! - dbtp)).toBeLessThan(0.02);
  });

  test('a voice reads the same piece by piece, however it is cut', async () => {
    const audio = await readAudioFile('demo-audio/tracks/lead.flac');
    const meter = new Meter(audio.sampleRate, 1);
    const [samples] = audio.channels as [Float32Array];
    for (let from = 0, n = 1; from < samples.length; n++) {
      const count = Math.min(samples.length - from, (n * 9770) % 40_009);
      meter.push(audio.channels, from, count);
      from += count;
    }
    expect(measurementOf(meter)).toEqual(measure(audio));
  });
});
