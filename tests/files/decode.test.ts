import { readFileSync } from 'node:fs';
import fc from 'fast-check';
import { describe, expect, test, vi } from 'vitest';
import { framesOf } from '../../src/audio/audio.ts';
import { audioKindOf } from '../../src/files/decode/audio-kind.ts';
import { decodeAudioFile } from '../../src/files/decode/decode.ts';
import { mp3FramesOf } from '../../src/files/mp3/mp3-frames.ts';
import { writeWav } from '../../src/files/wav/wav-write.ts';
import { oggPagesOf } from '../../src/files/decode/ogg-pages.ts';
import { ProblemError } from '../../src/session/problem.ts';
import { withLongComments, withOpusGain } from './ogg-bytes.ts';
import { chirp, difference, fallingChirp, lagOf, noiseIntegers, rmsDb, scaled } from './signals.ts';
import { casesOf } from '../helpers/soak.ts';

// The fixtures hold the signals of signals.ts, written by `writeWav` (16 bit; noise-24: 24 bit) and coded with
//   flac -s noise.wav, and with --ogg for noise-16.oga             (flac 1.4.2)
//   lame -b 320 chirp.wav; at lower constant rates it lowers the level, by 0.45 dB at 128      (lame 3.100)
//   lame -V 2, variable rate: chirp-mono.mp3, and chirp-22.mp3 from the chirp at 22.05 kHz
//   lame -t -b 128: chirp-no-info.mp3
//   oggenc -q 6 chirp.wav                                          (vorbis-tools 1.4.2)
//   ffmpeg -i chirp.wav -c:a libopus -b:a 96k chirp.opus           (the chirp at 48 kHz)
const fixture = (name: string): Uint8Array =>
  new Uint8Array(readFileSync(new URL(`./fixtures/${name}`, import.meta.url)));

async function refusal(bytes: Uint8Array, name = 'take.wav'): Promise<string> {
  const error: unknown = await decodeAudioFile(bytes, name).catch((reason: unknown) => reason);
  expect(error).toBeInstanceOf(ProblemError);
  return (error as ProblemError).message;
}

describe('FLAC is integer / 2^(bits-1), bit for bit', () => {
  test.each(['noise-16.flac', 'noise-16.oga'])('16 bit stereo, %s', async (name) => {
    const audio = await decodeAudioFile(fixture(name), name);
    expect(audio.sampleRate).toBe(44100);
    expect(audio.channels).toEqual([1, 2].map((seed) => scaled(noiseIntegers(2000, 16, seed), 16)));
  });

  test('24 bit mono', async () => {
    const audio = await decodeAudioFile(fixture('noise-24.flac'), 'noise-24.flac');
    expect(audio).toEqual({ sampleRate: 48000, channels: [scaled(noiseIntegers(3000, 24, 3), 24)] });
  });

  test('behind an ID3 tag too', async () => {
    const tag = Uint8Array.from([0x49, 0x44, 0x33, 4, 0, 0, 0, 0, 0, 5, 1, 2, 3, 4, 5]);
    const audio = await decodeAudioFile(Uint8Array.from([...tag, ...fixture('noise-24.flac')]), 'tagged.flac');
    expect(framesOf(audio)).toBe(3000);
  });
});

describe('lossy files keep level, length and place', () => {
  // Residual: what each codec leaves of this signal at this rate, seen -40 to -64 dB re 1, the source at -9 and -15.
  test.each([
    ['chirp.mp3', 44100, 2],
    ['chirp-mono.mp3', 44100, 1],
    ['chirp-22.mp3', 22050, 2],
    ['chirp.ogg', 44100, 2],
    ['chirp.opus', 48000, 2],
  ])('%s', async (name, sampleRate, channels) => {
    const audio = await decodeAudioFile(fixture(name), name);
    expect(audio.sampleRate).toBe(sampleRate);
    expect(audio.channels.length).toBe(channels);
    const sources = [chirp(sampleRate), fallingChirp(sampleRate)];
    for (const [c, channel] of audio.channels.entries()) {
      const source = sources[c]!;
      expect(channel.length).toBe(source.length);
      expect(lagOf(channel, source, 1500)).toBe(0);
      expect(Math.abs(rmsDb(channel) - rmsDb(source))).toBeLessThan(0.1);
      expect(rmsDb(difference(channel, source))).toBeLessThan(-36);
    }
  });

  test('the output gain of an Opus file belongs to its level', async () => {
    const plain = await decodeAudioFile(fixture('chirp.opus'), 'chirp.opus');
    const louder = await decodeAudioFile(withOpusGain(fixture('chirp.opus'), 6), 'chirp.opus');
    expect(rmsDb(louder.channels[0]!) - rmsDb(plain.channels[0]!)).toBeCloseTo(6, 4);
  });

  test('a picture in the comments of an Opus file, over several pages, changes nothing', async () => {
    const plain = await decodeAudioFile(fixture('chirp.opus'), 'chirp.opus');
    const pictured = withLongComments(fixture('chirp.opus'), 150_000);
    expect(oggPagesOf(pictured, Error).length).toBe(oggPagesOf(fixture('chirp.opus'), Error).length + 2);
    expect(await decodeAudioFile(pictured, 'chirp.opus')).toEqual(plain);
  });

  test('an MP3 without an information frame starts late by the delay of encoder and decoder', async () => {
    const audio = await decodeAudioFile(fixture('chirp-no-info.mp3'), 'chirp-no-info.mp3');
    expect(lagOf(audio.channels[0]!, chirp(44100), 1500)).toBe(1105);
  });
});

describe('the kind is told by the content', () => {
  test.each([
    ['noise-16.flac', 'flac'],
    ['noise-16.oga', 'ogg-flac'],
    ['chirp.mp3', 'mp3'],
    ['chirp.ogg', 'ogg-vorbis'],
    ['chirp.opus', 'ogg-opus'],
  ])('%s', (name, kind) => {
    expect(audioKindOf(fixture(name))).toBe(kind);
  });

  test('a FLAC file called .wav is decoded', async () => {
    expect(framesOf(await decodeAudioFile(fixture('noise-16.flac'), 'take.wav'))).toBe(2000);
  });

  const bytesOf = (text: string): Uint8Array => Uint8Array.from(text, (char) => char.charCodeAt(0));
  test.each([
    ['nothing', '', 'an empty file'],
    ['text', 'Verse: more guitar.\r\nChorus: less.', 'a text file'],
    ['MPEG-4', '\0\0\0\x20ftypM4A \0\0', 'an MPEG-4 file (m4a, mp4 or mov)'],
    ['another IFF file', 'FORM\0\0\0\0ILBM', 'an IFF file that holds no sound of AIFF or AIFC'],
    ['reversed WAV', 'RIFX\0\0\0\0WAVE', 'a WAV file with its bytes in reverse order (RIFX)'],
    ['Matroska', '\x1aE\xdf\xa3\0', 'a Matroska or WebM file'],
    ['raw AAC', '\xff\xf1\x50\x80\0\0\0', 'a raw AAC file'],
    ['anything else', '\0\x01\x02\x03', 'data of an unknown kind'],
  ])('%s is refused as what it is', async (_, text, kind) => {
    const sentence = `take.wav cannot be read: expected a WAV, AIFF, CAF, FLAC, MP3, Ogg Vorbis or Ogg Opus file, found ${kind}.`;
    expect(await refusal(bytesOf(text))).toBe(sentence);
  });

  test('Ogg with another codec is refused', async () => {
    const page = fixture('chirp.ogg');
    page.set(bytesOf('Speex   '), 28);
    expect(await refusal(page)).toContain('found an Ogg file with another kind of content');
  });
});

describe('too short to work on', () => {
  const silence = (frames: number): Uint8Array =>
    writeWav({ sampleRate: 48000, channels: [new Float32Array(frames)] }, '16').bytes;

  test('one sample', async () => {
    expect(await refusal(silence(1))).toBe(
      'take.wav is too short: expected at least 10 ms of audio, found a single sample.',
    );
  });

  test('one sample less than 10 ms; 10 ms pass', async () => {
    expect(await refusal(silence(479))).toContain('found 479 samples at 48000 Hz');
    expect(framesOf(await decodeAudioFile(silence(480), 'take.wav'))).toBe(480);
  });
});

const CODED = ['noise-16.flac', 'noise-24.flac', 'noise-16.oga', 'chirp.mp3', 'chirp.ogg', 'chirp.opus'];

test('FLAC of 32 bits is refused as that, not as damage', async () => {
  const bytes = fixture('noise-24.flac');
  bytes[20]! |= 1; // the upper bit of the word length less one: 11000 becomes 11111
  bytes[21]! |= 0xf0;
  expect(await refusal(bytes, 'take.flac')).toContain('expected a FLAC file of up to 24 bits, found 32 bits');
});

describe('damage', () => {
  test.each(CODED)('%s cut anywhere is one sentence', async (name) => {
    const whole = fixture(name);
    for (const part of [0.01, 0.2, 0.5, 0.9, 0.999]) {
      const sentence = await refusal(whole.subarray(0, Math.floor(part * whole.length)), name);
      expect(sentence).toMatch(/^[^\n]* cannot be read: expected a [^\n]*\.$/);
    }
  });

  test.each(['noise-16.flac', 'noise-16.oga', 'chirp.ogg', 'chirp.opus'])(
    '%s: a single wrong bit in the sound is found',
    async (name) => {
      const bytes = fixture(name);
      bytes[Math.floor(0.7 * bytes.length)]! ^= 4;
      expect(await refusal(bytes, name)).toMatch(/copy or export it again\.$/);
    },
  );

  test('an MP3 that lost a piece in the middle is not played as if it were whole', async () => {
    const bytes = fixture('chirp.mp3');
    const { start, end } = mp3FramesOf(bytes)!;
    const cut = Uint8Array.from([...bytes.subarray(0, start + 1500), ...bytes.subarray(start + 1600, end)]);
    expect(await refusal(cut, 'chirp.mp3')).toMatch(/expected a whole MP3 file, found a break at byte \d+;/);
  });

  test('an MP3 with whole frames missing is told by its own count', async () => {
    const bytes = fixture('chirp.mp3');
    const { start, end, frames } = mp3FramesOf(bytes)!;
    const length = Math.floor((end - start) / frames);
    let last = end - 2 * length - 4;
    while (mp3FramesOf(bytes.subarray(0, last))?.brokenAt !== undefined) last--;
    expect(await refusal(bytes.subarray(0, last), 'chirp.mp3')).toMatch(
      /found \d+ frames where its header states \d+;/,
    );
  });

  test('a tag behind an MP3 does not count as damage', async () => {
    const tag = Uint8Array.from([0x54, 0x41, 0x47, ...new Uint8Array(125)]);
    const audio = await decodeAudioFile(Uint8Array.from([...fixture('chirp.mp3'), ...tag]), 'chirp.mp3');
    expect(framesOf(audio)).toBe(17640);
  });

  test('two Ogg streams in a row are refused rather than half read', async () => {
    const one = fixture('chirp.ogg');
    expect(await refusal(Uint8Array.from([...one, ...one]), 'chirp.ogg')).toContain('found several streams in it');
  });

  test('whatever bits flip, there is audio or a refusal, and the console stays silent', async () => {
    const console_ = vi.spyOn(console, 'error');
    const flip = fc.tuple(
      fc.double({ min: 0, max: 1, maxExcluded: true, noNaN: true }),
      fc.integer({ min: 1, max: 255 }),
    );
    const where = fc.record({
      name: fc.constantFrom(...CODED),
      flips: fc.array(flip, { maxLength: 5 }),
      head: fc.boolean(),
    });
    await fc.assert(
      fc.asyncProperty(where, async ({ name, flips, head }) => {
        const bytes = fixture(name);
        for (const [at, mask] of flips) bytes[Math.floor(at * (head ? 64 : bytes.length))]! ^= mask;
        const result: unknown = await decodeAudioFile(bytes, name).catch((reason: unknown) => reason);
        if (result instanceof Error) expect(result).toBeInstanceOf(ProblemError);
        else expect(result).toHaveProperty('channels');
      }),
      { numRuns: casesOf(80, 600) },
    );
    expect(console_).not.toHaveBeenCalled();
    console_.mockRestore();
  });
});
