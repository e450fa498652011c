import { readFileSync, statSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { beforeAll, describe, expect, test } from 'vitest';
import { songFacts } from '../../demo-audio/generator/facts.ts';
import { roundedPcm } from '../../demo-audio/generator/pcm16.ts';
import type { Song } from '../../demo-audio/generator/song.ts';
import { makeSong } from '../../demo-audio/generator/song.ts';
import { framesOf, type Audio } from '../../src/audio/audio.ts';
import { decibelsOf } from '../../src/audio/decibels.ts';
import { decodeAudioFile } from '../../src/files/decode/decode.ts';
import { writeWav } from '../../src/files/wav/wav-write.ts';

/**
 * Math.sin, exp and tanh may differ in their last bit from engine to engine, and a sample that lies next to a rounding
 * threshold then flips by one step of 16 bits, which is -90.3 dBFS. Anything above that is a changed song.
 */
const residualLimitDb = -85;

const pathOf = (name: string): string => fileURLToPath(new URL(`../../demo-audio/${name}`, import.meta.url));
const committed = (name: string): Promise<Audio> => decodeAudioFile(readFileSync(pathOf(name)), name);

/** Largest difference of two sounds, dBFS; they must have one shape. */
const residualDb = (a: readonly Float32Array[], b: readonly Float32Array[]): number => {
  expect(a.map(({ length }) => length)).toEqual(b.map(({ length }) => length));
  let peak = 0;
  a.forEach((channel, c) => channel.forEach((x, n) => (peak = Math.max(peak, Math.abs(x - b[c]![n]!)))));
  return decibelsOf(peak);
};

const meanSquare = (channels: readonly Float32Array[], from: number, to: number): number => {
  let sum = 0;
  for (const channel of channels) for (let n = from; n < to; n++) sum += channel[n]! ** 2;
  return sum / (channels.length * (to - from));
};

const frame = (seconds: number): number => Math.round(seconds * songFacts.sampleRate);

describe('the demo song', () => {
  let song: Song;
  let tracks: Audio[];
  let rough: Audio;
  beforeAll(async () => {
    song = makeSong();
    tracks = await Promise.all(songFacts.tracks.map(({ file }) => committed(file)));
    rough = await committed(songFacts.rough);
  }, 120_000);

  test.each(songFacts.tracks.map((facts, i) => [facts.name, i] as const))(
    '%s comes out of the generator again',
    (_, i) => {
      const { channels } = song.tracks[i]!;
      const pcm = roundedPcm(channels);
      const again = channels.map((channel, c) => channel.map((_x, n) => pcm[n * channels.length + c]! / 32768));
      expect(residualDb(tracks[i]!.channels, again)).toBeLessThan(residualLimitDb);
    },
  );

  test('the rough mix comes out of the generator again, dither and all', async () => {
    const { bytes } = writeWav({ sampleRate: songFacts.sampleRate, channels: song.rough }, '16');
    const again = await decodeAudioFile(bytes, 'rough');
    expect(residualDb(rough.channels, again.channels)).toBeLessThan(residualLimitDb);
  });

  test('ten tracks or more, all in step with the rough mix, at one rate and the told channels and length', () => {
    expect(tracks.length).toBeGreaterThanOrEqual(10);
    expect(rough.channels).toHaveLength(2);
    for (const [i, track] of [...tracks, rough].entries()) {
      expect(track.sampleRate).toBe(songFacts.sampleRate);
      expect(framesOf(track)).toBe(songFacts.frames);
      expect(track.channels).toHaveLength(songFacts.tracks[i]?.channels ?? 2);
    }
  });

  test('tracks peak where the facts say, between -12 and -3 dBFS; nothing clips and nothing is offset', () => {
    for (const [i, { channels }] of [...tracks, rough].entries()) {
      const peak = Math.max(...channels.map((channel) => channel.reduce((max, x) => Math.max(max, Math.abs(x)), 0)));
      const told = songFacts.tracks[i]?.peakDb;
      if (told !== undefined) expect(decibelsOf(peak)).toBeCloseTo(told, 1);
      expect(decibelsOf(peak)).toBeGreaterThanOrEqual(-12.1);
      expect(decibelsOf(peak)).toBeLessThan(-3);
      for (const channel of channels)
        expect(Math.abs(channel.reduce((sum, x) => sum + x, 0) / channel.length)).toBeLessThan(1e-4);
    }
  });

  test('sections meet, begin on bar lines and span the song', () => {
    const bar = (songFacts.beatsPerBar * 60) / songFacts.tempoBpm;
    const { sections } = songFacts;
    expect(sections[0]?.from).toBe(0);
    expect(sections.at(-1)?.to).toBe(songFacts.seconds);
    sections.forEach(({ from }, i) => {
      expect(from / bar).toBeCloseTo(Math.round(from / bar), 9);
      if (i > 0) expect(from).toBe(sections[i - 1]?.to);
    });
  });

  test('from sparse to full: each section is louder than the one before by 1 dB or more, and more tracks sound', () => {
    const block = frame(0.1);
    const audible = 10 ** -3.5; // a track counts while it stands above -35 dBFS
    const sounding = (from: number, to: number): number => {
      let count = 0;
      for (const { channels } of tracks) {
        for (let at = from; at < to; at += block) if (meanSquare(channels, at, at + block) > audible) count++;
      }
      return (count * block) / (to - from);
    };
    expect(songFacts.sections.map(({ density }) => density)).toEqual(['sparse', 'growing', 'full']);
    // The last bar rings out and is no measure of the chorus.
    const spans = songFacts.sections.map(({ from, to }) => [frame(from), frame(Math.min(to, 37.5))] as const);
    const levels = spans.map(([from, to]) => 10 * Math.log10(meanSquare(rough.channels, from, to)));
    const densities = spans.map(([from, to]) => sounding(from, to));
    for (const i of [1, 2]) {
      expect(levels[i]! - levels[i - 1]!).toBeGreaterThan(1);
      expect(densities[i]!).toBeGreaterThan(densities[i - 1]!);
    }
  });

  test('everything together stays under 24 MB', () => {
    const names = [...songFacts.tracks.map(({ file }) => file), songFacts.rough];
    expect(names.reduce((sum, name) => sum + statSync(pathOf(name)).size, 0)).toBeLessThan(24e6);
  });
});
