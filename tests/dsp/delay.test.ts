import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Chain } from '../../src/dsp/core/chain.ts';
import { type Settings, valuesFrom } from '../../src/dsp/core/parameter.ts';
import { processor } from '../../src/dsp/processors/delay.ts';
import type { KeySignal } from '../../src/dsp/core/processor.ts';
import { both, impulse, noise, peakOf, run, stepOf, through, tone } from '../helpers/chains.ts';
import { splatterDb } from '../helpers/splatter.ts';

const played = (settings: Settings, input: KeySignal, rate = 48000): KeySignal =>
  through([stepOf('delay', { mix: 100, ...settings })], input, rate);

const leftOnly = (frames: number): KeySignal => ({ left: impulse(frames).left, right: new Float64Array(frames) });

/** [frame, level] of all samples that are not 0. */
const sounding = (samples: Float64Array): (readonly [number, number])[] =>
  [...samples].map((x, n) => [n, x] as const).filter(([, x]) => x !== 0);

/** Gain at `hz` of a finite piece of impulse response. */
const gainAt = (response: Float64Array, hz: number): number => {
  let [re, im] = [0, 0];
  response.forEach((x, n) => {
    re += x * Math.cos((2 * Math.PI * hz * n) / 48000);
    im += x * Math.sin((2 * Math.PI * hz * n) / 48000);
  });
  return Math.hypot(re, im);
};

describe('delay', () => {
  it('mixes by a linear law: the dry part and the first repeat add up to 1', () => {
    const { left } = played({ time: 10, feedback: 0, mix: 30 }, impulse(1000));
    expect(left[0]).toBeCloseTo(0.7, 12);
    expect(left[480]).toBeCloseTo(0.3, 12);
  });

  it('stays on its side in stereo style without cross-feed', () => {
    const { left, right } = played({ time: 10, feedback: 50 }, leftOnly(2000));
    expect(sounding(left)).toEqual([
      [480, 1],
      [960, 0.5],
      [1440, 0.25],
      [1920, 0.125],
    ]);
    expect(sounding(right)).toEqual([]);
  });

  it('changes sides with every repeat at full cross-feed, and splits evenly at half', () => {
    const full = played({ time: 10, feedback: 50, crossFeed: 100 }, leftOnly(1500));
    expect(sounding(full.left).map(([n]) => n)).toEqual([480, 1440]);
    expect(sounding(full.right)).toEqual([[960, 0.5]]);
    const half = played({ time: 10, feedback: 50, crossFeed: 50 }, leftOnly(1000));
    expect([half.left[960], half.right[960]]).toEqual([0.25, 0.25]);
  });

  it.each(['left', 'right'])('throws both sides together from side to side, the %s first', (side) => {
    const output = played({ time: 10, feedback: 50, mode: 'ping-pong', side }, impulse(2000));
    const [first, second] = side === 'left' ? [output.left, output.right] : [output.right, output.left];
    expect(sounding(first)).toEqual([
      [480, 1],
      [1440, 0.25],
    ]);
    expect(sounding(second)).toEqual([
      [960, 0.5],
      [1920, 0.125],
    ]);
  });

  it('offsets the right side', () => {
    const { left, right } = played({ time: 20, offset: -5, feedback: 0 }, impulse(2000));
    expect(sounding(left)).toEqual([[960, 1]]);
    expect(sounding(right)).toEqual([[720, 1]]);
  });

  it('takes highs and lows from repeat n as often as n times', () => {
    const { left } = played({ time: 100, feedback: 50, lowCut: 200, highCut: 4000 }, impulse(15000));
    const repeat = (n: number): Float64Array => left.slice(4800 * n, 4800 * (n + 1));
    // 3.0103 dB at the corner, each time; the other cut adds its own 6 dB/oct skirt, under 0.02 dB at these distances.
    for (const hz of [200, 4000])
      for (const n of [1, 2]) {
        const expected = 0.5 ** (n - 1) * 0.5 ** (n / 2);
        expect(Math.abs(20 * Math.log10(gainAt(repeat(n), hz) / expected))).toBeLessThan(0.02 * n);
      }
  });

  it('is an exact copy with the cuts at their ends', () => {
    const input = noise(3000, 6);
    const { left } = played({ time: 20, feedback: 0, lowCut: 20, highCut: 20000 }, input);
    expect(left.slice(960)).toEqual(input.left.slice(0, 2040));
  });

  it('turns the repeats down while the sound plays, by what it is above the threshold and no more than the most', () => {
    const input = tone(1000, 48000, 0.1);
    const gain = (settings: Settings): number => {
      const { left } = played({ time: 100, feedback: 0, ...settings }, input);
      return 20 * Math.log10(Math.max(...left.slice(40000)) / 0.1);
    };
    expect(gain({ ducking: 24, duckThreshold: -26 })).toBeCloseTo(-6, 1);
    expect(gain({ ducking: 4, duckThreshold: -40 })).toBeCloseTo(-4, 2);
    expect(gain({ ducking: 24, duckThreshold: -10 })).toBeCloseTo(0, 6);
  });

  it('lets the repeats come back in the gap', () => {
    const burst = tone(1000, 48000, 0.5);
    for (const side of [burst.left, burst.right]) side.fill(0, 4800);
    const settings = { time: 200, feedback: 80, duckRelease: 50 };
    const ducked = played({ ...settings, ducking: 24 }, burst);
    const plain = played(settings, burst);
    const level = ({ left }: KeySignal, n: number): number => peakOf(both(left.slice(9600 * n, 9600 * n + 4800)));
    // The first repeat starts 100 ms after the sound has ended: two time constants, 24 e^-2 = 3.2 dB at its loudest.
    expect(20 * Math.log10(level(ducked, 1) / level(plain, 1))).toBeLessThan(-0.1);
    expect(level(ducked, 4)).toBe(level(plain, 4));
  });

  it('wears repeats on tape: lows, highs and loud parts go, more from each pass, the middle of a soft sound stays', () => {
    const { left } = played(
      { time: 100, feedback: 100 * 0.95, tape: 100 },
      both(impulse(20000).left.map((x) => x / 1000)),
    );
    const db = (n: number, hz: number): number =>
      20 * Math.log10((1000 * gainAt(left.slice(4800 * n, 4800 * (n + 1)), hz)) / 0.95 ** (n - 1));
    for (const n of [1, 2, 3]) {
      expect(db(n, 5000)).toBeCloseTo(-3.01 * n, 1);
      expect(Math.abs(db(n, 600))).toBeLessThan(0.15 * n);
    }
    const loud = played({ time: 100, feedback: 0, tape: 100 }, tone(600, 20000, 1));
    expect(peakOf(loud, 9600)).toBeLessThan(0.5);
  });

  it('works at times shorter than a block', () => {
    const { left } = played({ time: 1, feedback: 50 }, impulse(200), 44100);
    expect(sounding(left).slice(0, 3)).toEqual([
      [44, 1],
      [88, 0.5],
      [132, 0.25],
    ]);
  });

  it('never grows, whatever its settings', () => {
    const setting = fc.record({
      time: fc.double({ min: 1, max: 30, noNaN: true }),
      offset: fc.double({ min: -50, max: 50, noNaN: true }),
      feedback: fc.double({ min: 0, max: 95, noNaN: true }),
      crossFeed: fc.double({ min: 0, max: 100, noNaN: true }),
      mode: fc.constantFrom('stereo', 'ping-pong'),
      tape: fc.constantFrom(0, 30, 100),
    });
    fc.assert(
      fc.property(setting, (settings) => {
        const output = played(settings, impulse(48000));
        return peakOf(output) <= 1 && peakOf(output, 24000) <= peakOf(output);
      }),
      { numRuns: 20 },
    );
  });

  it('is silent at the end of its tail, and not long before', () => {
    const settings = { time: 50, feedback: 60, mix: 100 };
    const tail = processor.tail(valuesFrom(processor.parameters, settings), 48000);
    const output = played(settings, impulse(2 * tail));
    expect(peakOf(output, tail + 1)).toBeLessThan(1e-6);
    expect(peakOf(output, Math.round(tail * 0.8))).toBeGreaterThan(1e-6);
  });

  it('sounds the same after sleeping through a long silence as when new', () => {
    const settings = { time: 20, feedback: 30, lowCut: 100, mix: 50 };
    const chain = new Chain([stepOf('delay', settings)], 48000, 64);
    const input = noise(4800, 9);
    const first = run(chain, input, [64]);
    run(chain, both(new Float64Array(64 * 4000)), [64]);
    const again = run(chain, input, [64]);
    expect(again).toEqual(first);
  });

  it.each([
    ['time', { time: 250 }, { time: 90 }],
    ['offset', { offset: 0 }, { offset: 20 }],
    ['feedback', { feedback: 0 }, { feedback: 90 }],
    ['mode', { mode: 'stereo' }, { mode: 'ping-pong', side: 'right' }],
    ['cross-feed', { crossFeed: 0 }, { crossFeed: 100 }],
    ['low cut', { lowCut: 20 }, { lowCut: 2000 }],
    ['high cut', { highCut: 20000 }, { highCut: 500 }],
    ['mix', { mix: 0 }, { mix: 100 }],
    ['tape wear', { tape: 0 }, { tape: 60 }],
    ['ducking', { ducking: 0 }, { ducking: 24 }],
    ['modulation', { modulation: 0 }, { modulation: 2 }],
  ])('moves its %s without a click', (_, from, to) => {
    // Faded in, so that the repeats hold no click of its beginning.
    // Quiet for wear, whose harmonics would be taken for clicks.
    const input = tone(3000, 131072, 'tape' in to ? 1e-4 : 0.5);
    for (const side of [input.left, input.right])
      for (let n = 0; n < 16384; n++) side[n]! *= Math.sin((Math.PI * n) / 32768) ** 4;
    const settings = (extra: Settings) => stepOf('delay', { time: 200, feedback: 40, mix: 60, ...extra });
    const chain = new Chain([settings(from)], 48000, 64);
    const moves = [0, 30016, 34048, 40000, 50048, 131072];
    const output = moves.slice(1).flatMap((end, n) => {
      chain.set(0, settings(n % 2 ? to : from).values);
      const part = both(input.left.subarray(moves[n], end));
      return [...run(chain, part, [64]).left];
    });
    expect(splatterDb(Float64Array.from(output), 3000, 1500)).toBeLessThan(-80);
  });
});
