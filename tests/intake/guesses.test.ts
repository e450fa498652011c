import { barsOnDownbeat } from '../../src/intake/bars-on-downbeat.ts';
import { TempoMap } from '../../src/session/tempo-map.ts';
import { smallSession } from '../helpers/session-file.ts';
import { sampleOf } from '../helpers/soak.ts';
import { describe, expect, test } from 'vitest';
import { bandCourseOf } from '../../src/intake/guesses/band-course.ts';
import { sectionGuessesOf } from '../../src/intake/guesses/sections.ts';
import { timeGuessOf } from '../../src/intake/guesses/tempo.ts';
import { chance } from './multitrack.ts';

const RATE = 44_100;

/** Adds a struck sound: a tone and noise that die away. */
const strike = (
  out: Float32Array,
  seconds: number,
  hz: number,
  level: number,
  noise: number,
  decay: number,
  next: () => number,
): void => {
  const start = Math.round(seconds * RATE);
  const end = Math.min(out.length - start, 5 * decay * RATE);
  const falls = Math.exp(-1 / (decay * RATE));
  const [sine, cosine] = [Math.sin((2 * Math.PI * hz) / RATE), Math.cos((2 * Math.PI * hz) / RATE)];
  let envelope = level;
  let [s, c] = [0, 1];
  for (let n = 0; n < end; n++) {
    out[start + n]! += envelope * (s + (noise > 0 ? noise * (2 * next() - 1) : 0));
    envelope *= falls;
    [s, c] = [s * cosine + c * sine, c * cosine - s * sine];
  }
};

/** A band that keeps time: a low note on one, a drum on two and four, hats on eighths; the truth is what it is made by. */
const groove = (tempo: number, first: number, seconds: number, seed: number): Float32Array => {
  const next = chance(seed);
  const out = new Float32Array(seconds * RATE);
  const beat = 60 / tempo;
  for (let n = 0; first + n * beat < seconds; n++) {
    const at = first + n * beat;
    if (n % 4 === 0) strike(out, at, 55, 0.6, 0, 0.4, next);
    if (n % 4 === 2) strike(out, at, 70, 0.3, 0, 0.15, next);
    if (n % 2 === 1) strike(out, at, 190, 0.3, 1, 0.06, next);
    for (const half of [0, 0.5])
      if (next() < 0.9) strike(out, at + half * beat + 0.004 * next(), 6000, 0.05, 1, 0.03, next);
    if (n % 4 === 0)
      for (const ratio of [1, 1.25, 1.5])
        strike(out, at, 220 * ratio * 2 ** (Math.floor(6 * next()) / 12), 0.1, 0, 0.9, next);
  }
  return out;
};

describe('tempo, beat and downbeat of a band that keeps time', () => {
  const played = [
    [72, 0.4],
    [96, 0.1],
    [120, 0.313],
    [137.5, 0.05],
    [168, 0.25],
  ] as const;
  test.each(sampleOf(played, 2))('%d beats a minute from %d s', (tempo, first) => {
    const guess = timeGuessOf(bandCourseOf(groove(tempo, first, 40, tempo), RATE))!;
    // Half and double are the same beat counted otherwise: one of the three is the one that was played.
    const told = [guess, ...guess.alternatives];
    const right = told.find((each) => Math.abs(each.tempo / tempo - 1) < 0.002);
    expect(right, JSON.stringify(guess)).toBeDefined();
    expect(told.reduce((sum, { confidence }) => sum + confidence, 0)).toBeLessThanOrEqual(1.01);
    if (right === guess) {
      const bar = 240 / tempo;
      const off = (((guess.downbeat.seconds - first) % bar) + bar) % bar;
      expect(Math.min(off, bar - off), 'downbeat').toBeLessThan(0.03);
      expect(guess.confidence).toBeGreaterThan(0.4);
    }
  });

  test('most of these tempos are the first guess', () => {
    // 72 and 162 are where half and double are as near to what is usual: how beats are parted tells.
    const tempos = [72, 162, ...sampleOf([84, 92, 104, 112, 126, 150], 1)];
    const right = tempos.filter(
      (tempo) => Math.abs(timeGuessOf(bandCourseOf(groove(tempo, 0.2, 30, tempo), RATE))!.tempo / tempo - 1) < 0.002,
    );
    expect(right).toEqual(tempos);
  });

  test('noise and silence have none', () => {
    const next = chance(1);
    const noise = Float32Array.from({ length: 20 * RATE }, () => 0.1 * (next() - 0.5));
    expect(timeGuessOf(bandCourseOf(noise, RATE))?.confidence ?? 0).toBeLessThan(0.6);
    expect(timeGuessOf(bandCourseOf(new Float32Array(20 * RATE), RATE))).toBe(null);
    expect(timeGuessOf(bandCourseOf(new Float32Array(100), RATE))).toBe(null);
  });
});

test('sections begin where the band changes, on the bar', () => {
  const tempo = 120;
  const song = groove(tempo, 0, 64, 4);
  const next = chance(9);
  // From 16 s to 32 s and from 48 s on there are loud chords and cymbals beside it.
  for (let at = 0; at < 64; at += 0.25) {
    if ((at >= 16 && at < 32) || at >= 48) {
      strike(song, at, 440 * 2 ** (Math.floor(5 * next()) / 12), 0.4, 0.1, 0.5, next);
      strike(song, at, 9000, 0.15, 1, 0.3, next);
    }
  }
  const course = bandCourseOf(song, RATE);
  const sections = sectionGuessesOf(course, timeGuessOf(course));
  expect(sections.map(({ startSeconds }) => Math.round(startSeconds))).toEqual([0, 16, 32, 48]);
  expect(sections.at(-1)!.endSeconds).toBeCloseTo(64, 1);
  expect(sections.every(({ confidence }) => confidence > 0.3 && confidence <= 1)).toBe(true);
});

test('a song that does not change is one section', () => {
  const course = bandCourseOf(groove(110, 0.2, 60, 6), RATE);
  expect(sectionGuessesOf(course, timeGuessOf(course)).length).toBe(1);
});

test.each([
  [120, [4, 4], 0.52],
  [90, [3, 4], 5.1],
  [100, [6, 8], 0],
] as const)('bars at %d in %j, one of which begins at %d s in the music', (tempo, meter, downbeat) => {
  const session = barsOnDownbeat({ ...smallSession(), meter: [...meter] }, tempo, downbeat);
  const map = new TempoMap(session);
  const [beats, note] = meter;
  const seconds = (240 * beats) / note / tempo;
  const bar = map.barAt(downbeat + 2 * seconds);
  expect(Math.abs(bar - Math.round(bar))).toBeLessThan(1e-9);
  // From there on a bar lasts as long as its beats at this tempo.
  expect(map.secondsAt(7) - map.secondsAt(6)).toBeCloseTo(seconds, 9);
});
