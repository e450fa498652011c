import { describe, expect, it } from 'vitest';
import { STRETCH_FRAMES } from '../../src/audition/feed-messages.ts';
import type { PlayedSound } from '../../src/audition/played-sound.ts';
import { metersFrom } from '../../src/audition/meters.ts';
import { stepOf } from '../helpers/chains.ts';
import { sine, whiteNoise } from '../helpers/signals.ts';
import { Bench, off, program, QUANTUM, RATE, samplesOf, soundOf } from './mixer-bench.ts';

/** Moves of gains and fades are over after this, frames. */
const SETTLED = 1024;
const FADE = 960;
/** Crossfade at the join of a loop, frames. */
const JOIN = 240;

const noisy = (seed: number, seconds = 3): PlayedSound => soundOf(whiteNoise(seconds, seed));

describe('what is heard', () => {
  const [a, b, rough] = [noisy(1), noisy(2), noisy(3)];
  const whole = program({ a, b }, { rough });
  const mixAt = (bench: Bench, at: number): number => {
    const place = bench.placeAt(at);
    return 0.7 * samplesOf(a)[place]! + 0.31 * samplesOf(b)[place]!;
  };

  it('is the sum of the paths times their gains, to the last bit, from the place that was asked for', () => {
    const bench = new Bench().gains({ a: 0.7, b: 0.31 });
    bench.mixer.load(whole);
    bench.mixer.play(50_001, 1);
    bench.run(30_080);
    const { clock, place } = bench.anchors[0]!;
    expect(place).toBe(50_001);
    expect(off(bench, clock + SETTLED, 30_080, (at) => mixAt(bench, at))).toBe(0);
    bench.gains({ a: 0.7, b: 0.31 }, 'rough', 0.5).run(SETTLED);
    const from = bench.clock;
    bench.run(2048);
    expect(off(bench, from, bench.clock, (at) => 0.5 * samplesOf(rough)[bench.placeAt(at)]!)).toBe(0);
    expect(bench.mixer.lateStretches).toBe(0);
  });

  it('comes in time on every side behind a mix bus that looks ahead', () => {
    const look = stepOf('compressor', { lookAhead: 7.3, ratio: 1, threshold: 0 });
    const bench = new Bench().gains({ a: 0.7, b: 0.31 });
    bench.mixer.load(whole);
    bench.mixer.play(0, 1);
    bench.run(12_800);
    bench.mixer.setMixBus({ trimGain: 0.5, steps: [look] });
    bench.run(4096);
    const from = bench.clock;
    bench.run(2048);
    // The mix is trimmed in single precision.
    expect(off(bench, from, bench.clock, (at) => 0.5 * mixAt(bench, at))).toBeLessThan(1e-7);
    bench.gains({ a: 0.7, b: 0.31 }, 'rough').run(SETTLED);
    const later = bench.clock;
    bench.run(2048);
    expect(off(bench, later, bench.clock, (at) => samplesOf(rough)[bench.placeAt(at)]!)).toBe(0);
  });

  it('has the mix bus follow its lines by the place in the song, in every round of a loop', () => {
    const line = (values: readonly number[]) => ({
      ...{ text: values.join(), frames: Float64Array.of(0, 12_800), values: Float64Array.from(values) },
      curves: Uint8Array.of(0, 0),
    });
    const gain = { ...stepOf('gain', { gain: 0 }), lines: { parameters: { gain: line([0, -6]) } } };
    const moving = { levels: [line([-6, 0])], switches: [], reference: 1 };
    const bench = new Bench().gains({ a: 0.7, b: 0.31 });
    bench.mixer.load(whole);
    bench.mixer.setMixBus({ trimGain: 1, moving, steps: [gain] });
    bench.mixer.setLoop({ from: 6400, to: 19_200 });
    bench.mixer.play(6400, 1);
    bench.run(60_032);
    const { clock } = bench.anchors[0]!;
    const sixDown = 10 ** (-6 / 20);
    for (const round of [1, 2, 3]) {
      const begins = clock + round * 12_800;
      // Before the step the trim is down, behind it the processor; each settles within 100 ms (15 ms time constant, to -58 dB).
      expect(off(bench, begins + 4800, begins + 6400, (at) => sixDown * mixAt(bench, at))).toBeLessThan(2e-3);
      expect(off(bench, begins + 11_200, begins + 12_800, (at) => sixDown * mixAt(bench, at))).toBeLessThan(2e-3);
    }
  });

  it('joins the rounds of a loop to the sample, at an odd length', () => {
    const bench = new Bench().gains({ a: 0.7, b: 0.31 });
    const loop = { from: 10_007, to: 20_010 };
    bench.mixer.load(whole);
    bench.mixer.setLoop(loop);
    bench.mixer.play(9_000, 1);
    bench.run(60_032);
    const { clock, place } = bench.anchors[0]!;
    expect(place).toBe(loop.from);
    // Behind the crossfade each round is what the first was.
    for (let round = 0; round < 5; round++) {
      const begins = clock + round * (loop.to - loop.from);
      const from = begins + Math.max(JOIN, round === 0 ? SETTLED : 0);
      const sum = (at: number): number => {
        const frame = loop.from + at - begins;
        return 0.7 * samplesOf(a)[frame]! + 0.31 * samplesOf(b)[frame]!;
      };
      expect(off(bench, from, begins + loop.to - loop.from, sum)).toBe(0);
    }
    expect(bench.mixer.lateStretches).toBe(0);
  });

  it('fades over a jump, and plays on as before until the other place is there', () => {
    const bench = new Bench().gains({ a: 0.7, b: 0.31 });
    bench.mixer.load(whole);
    bench.mixer.play(0, 1);
    bench.run(8064);
    bench.delay = 40;
    const asked = bench.clock;
    bench.mixer.play(120_000, 2);
    bench.run(20_480);
    const jump = bench.anchors.at(-1)!;
    expect(jump.jump).toBe(2);
    expect(jump.clock).toBeGreaterThan(asked + 30 * QUANTUM);
    expect(off(bench, asked, jump.clock, (at) => mixAt(bench, at))).toBe(0);
    expect(off(bench, jump.clock + FADE, bench.clock, (at) => mixAt(bench, at))).toBe(0);
  });

  it('takes new sound at the same place without a changed sample where it is the same', () => {
    const bench = new Bench().gains({ a: 0.7, b: 0.31 });
    bench.mixer.load(whole);
    bench.mixer.play(0, 1);
    bench.run(8064);
    bench.mixer.load(program({ a: soundOf(samplesOf(a)), b }, { rough }));
    bench.run(16_384);
    expect(bench.anchors).toHaveLength(2);
    // Two fades that add up to 1: what is left is rounding.
    expect(off(bench, SETTLED + 512, bench.clock, (at) => mixAt(bench, at))).toBeLessThan(1e-7);
    expect(off(bench, bench.clock - 2048, bench.clock, (at) => mixAt(bench, at))).toBe(0);
  });

  it('is silent and counted once where a stretch comes too late, and goes on in time', () => {
    const bench = new Bench().gains({ a: 1 });
    bench.mixer.load(program({ a }));
    bench.mixer.play(0, 1);
    bench.run(4096);
    bench.delay = 1e9;
    bench.run(2 * RATE);
    expect(bench.mixer.lateStretches).toBe(0);
    bench.run(RATE / 2);
    expect(bench.mixer.lateStretches).toBe(1);
    expect(bench.left.slice(-QUANTUM).every((x) => x === 0)).toBe(true);
  });

  it('ends behind the last frame, once', () => {
    const bench = new Bench().gains({ a: 1 });
    bench.mixer.load(program({ a }));
    bench.mixer.play(a.frames - 4000, 1);
    bench.run(12_800);
    expect(bench.ended).toBe(1);
    const end = bench.anchors[0]!.clock + 4000;
    expect(bench.left.slice(end).every((x) => x === 0)).toBe(true);
  });
});

it('reads meters at least 30 times a second while it plays, and only when they are wanted', () => {
  const a = soundOf(sine({ hz: 1000, seconds: 3, db: -6.0206 }));
  const squeeze = stepOf('compressor', { threshold: -24, ratio: 4 });
  const bench = new Bench().gains({ a: 0.5, closed: 0 });
  bench.mixer.load(program({ a, closed: a }));
  bench.mixer.setMixBus({ trimGain: 1, steps: [squeeze, stepOf('gain')] });
  bench.mixer.play(0, 1);
  bench.run(RATE / 4);
  expect(bench.readings).toEqual([]);
  bench.mixer.setMetering(true);
  bench.run(RATE);
  expect(bench.readings.length).toBeGreaterThanOrEqual(30);
  expect(bench.readings.filter(({ names }) => names !== null)).toHaveLength(1);
  const { seconds, paths, heard, reductions } = metersFrom(bench.readings.at(-1)!.values, bench.readings[0]!.names!);
  expect(Math.abs(seconds - bench.placeAt(bench.clock) / RATE)).toBeLessThan(1 / 30);
  expect(paths.get('a')!.peakDb).toBeCloseTo(-12.04, 1);
  expect(paths.get('closed')!.peakDb).toBe(-Infinity);
  expect(reductions.get('mix')![0]).toBeGreaterThan(3);
  expect(reductions.get('mix')![1]).toBeNull();
  expect(heard.left.peakDb).toBeLessThan(-12.04 - 3);
  bench.mixer.stop();
  bench.run(4096);
  const after = bench.readings.length;
  bench.run(RATE / 4);
  expect(bench.readings).toHaveLength(after);
});

describe('what it keeps', () => {
  it('does not grow with the song: two seconds ahead of each sound', () => {
    const long = noisy(5, 10);
    const bench = new Bench().gains({ a: 1 });
    bench.mixer.load(program({ a: long }, { rough: long }));
    bench.mixer.play(0, 1);
    for (let second = 0; second < 8; second++) {
      bench.run(RATE - (RATE % QUANTUM));
      // Eight stretches cover two seconds and both ends.
      expect(bench.mixer.shelf.bytes).toBeLessThanOrEqual(8 * 2 * STRETCH_FRAMES * 4);
    }
    expect(bench.mixer.lateStretches).toBe(0);
    bench.mixer.load(null);
    bench.run(4096);
    expect(bench.mixer.shelf.bytes).toBe(0);
  });
});

describe('sound that is still being rendered', () => {
  const [a, b, rough] = [noisy(11), noisy(12), noisy(13)];
  const song = program({ a, b }, { rough });
  const mixAt = (bench: Bench, at: number): number => {
    const place = bench.placeAt(at);
    return 0.7 * samplesOf(a)[place]! + 0.31 * samplesOf(b)[place]!;
  };
  const begun = (heard: 'mix' | 'rough'): Bench => {
    const bench = new Bench().gains({ a: 0.7, b: 0.31 }, heard);
    bench.reaches.set(a, 2 * STRETCH_FRAMES).set(b, Infinity);
    bench.mixer.load(song);
    return bench;
  };

  it('is played as far as it is there, waited for, and gone on with without a lost sample', () => {
    const bench = begun('mix');
    bench.mixer.play(0, 1);
    bench.run(4 * STRETCH_FRAMES);
    // It has faded out before the end of what is there.
    const [stopped] = bench.waits;
    expect(bench.waits).toHaveLength(1);
    expect(stopped! + FADE).toBeLessThanOrEqual(2 * STRETCH_FRAMES);
    expect(stopped).toBeGreaterThan(2 * STRETCH_FRAMES - 4 * 1024);
    const silent = bench.clock - STRETCH_FRAMES;
    expect(bench.left.slice(silent)).toEqual(new Array(bench.clock - silent).fill(0));

    bench.reaches.set(a, Infinity);
    bench.run(STRETCH_FRAMES);
    expect(bench.anchors.at(-1)!.place).toBe(stopped);
    const { clock } = bench.anchors.at(-1)!;
    expect(off(bench, clock + SETTLED, bench.clock, (at) => mixAt(bench, at))).toBe(0);
    expect(bench.mixer.lateStretches).toBe(0);
  });

  it('is waited for in silence where a jump leads to it, and not at all once the jump leads back', () => {
    const bench = begun('mix');
    bench.mixer.play(0, 1);
    bench.run(8192);
    bench.mixer.play(100_000, 2);
    bench.run(8192);
    expect(bench.waits).toEqual([100_000]);
    expect(bench.left.slice(-1024)).toEqual(new Array(1024).fill(0));
    bench.mixer.play(500, 3);
    bench.run(8192);
    expect(bench.anchors.at(-1)).toMatchObject({ place: 500, jump: 3 });
  });

  it('keeps nothing waiting that is heard without it', () => {
    const bench = begun('rough');
    bench.mixer.play(0, 1);
    bench.run(3 * STRETCH_FRAMES);
    expect(bench.waits).toEqual([]);
    expect(bench.mixer.lateStretches).toBe(0);
    const { clock } = bench.anchors[0]!;
    expect(off(bench, clock + SETTLED, bench.clock, (at) => samplesOf(rough)[bench.placeAt(at)]!)).toBe(0);
    // Chosen, it is.
    bench.gains({ a: 0.7, b: 0.31 }, 'mix').run(4096);
    expect(bench.waits).toHaveLength(1);
  });
});
