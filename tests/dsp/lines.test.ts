import { describe, expect, it } from 'vitest';
import { gainOf } from '../../src/audio/decibels.ts';
import { Chain, type ChainStep } from '../../src/dsp/core/chain.ts';
import { straight } from '../../src/dsp/core/gain-matrix.ts';
import { CURVES, levelAt, lineAt, switchAt, type Curve, type PreparedLine } from '../../src/dsp/core/line.ts';
import { restoreState, stateOf } from '../../src/dsp/core/running-state.ts';
import { Strip, type StripSpec } from '../../src/dsp/core/strip.ts';
import { run, steady, stepOf } from '../helpers/chains.ts';
import { whiteNoise } from '../helpers/signals.ts';

const RATE = 48_000;

const line = (...points: readonly (readonly [frame: number, value: number, curve?: Curve])[]): PreparedLine => ({
  text: JSON.stringify(points),
  frames: Float64Array.from(points, ([frame]) => frame),
  values: Float64Array.from(points, ([, value]) => value),
  curves: Uint8Array.from(points, ([, , curve = 'hold']) => CURVES.indexOf(curve)),
});

describe('a line', () => {
  it('stays at its ends, holds, and goes as the Web Audio API specification has linear and exponential ramps', () => {
    const held = line([100, 1], [200, 3], [300, 2]);
    expect([0, 99, 100, 199, 200, 299, 300, 9999].map((frame) => lineAt(held, frame))).toEqual([
      1, 1, 1, 1, 3, 3, 2, 2,
    ]);
    const straightUp = line([100, 2, 'linear'], [200, 6]);
    expect([100, 125, 150, 200].map((frame) => lineAt(straightUp, frame))).toEqual([2, 3, 4, 6]);
    // 100 Hz to 1600 Hz: an octave a quarter of the way.
    const sweep = line([0, 100, 'exponential'], [400, 1600]);
    [100, 200, 400, 800, 1600].forEach((hz, n) => expect(lineAt(sweep, 100 * n)).toBeCloseTo(hz, 9));
    const curved = line([0, 0, 's-curve'], [100, 1]);
    expect([25, 50, 75].map((frame) => lineAt(curved, frame))).toEqual([0.15625, 0.5, 0.84375]);
  });

  it('of a level goes by equal factors where it goes straight in dB, and is silent at -90 dB', () => {
    const fade = line([0, 0, 'linear'], [600, -60], [700, -90]);
    [0, -10, -20, -60].forEach((db, n) => {
      const frame = [0, 100, 200, 600][n]!;
      expect(levelAt(fade, frame, RATE)).toBeCloseTo(gainOf(db), 12);
    });
    expect(levelAt(fade, 700 + 480, RATE)).toBe(0);
  });

  it('fades a switch and a step of a level evenly over 10 ms from its place on', () => {
    const on = line([0, 0], [1000, 1], [5000, 0]);
    const expected = [0, 0, 0.25, 0.5, 1, 1, 0.5, 0];
    expect([0, 1000, 1120, 1240, 1480, 5000, 5240, 5480].map((frame) => switchAt(on, frame, RATE))).toEqual(expected);
    const step = line([0, 0], [1000, -20]);
    expect(levelAt(step, 1240, RATE)).toBeCloseTo((1 + gainOf(-20)) / 2, 12);
  });
});

describe('a chain that follows lines', () => {
  const gainLine = (gain: PreparedLine): ChainStep => ({
    ...stepOf('gain', { gain: gain.values[0]! }),
    lines: { parameters: { gain } },
  });

  it('is that of the setting, bit for bit, while the line stays there', () => {
    const signal = { left: Float64Array.from(whiteNoise(0.1, 1)), right: Float64Array.from(whiteNoise(0.1, 2)) };
    const still = run(new Chain([stepOf('eq', { 'band3.on': true, 'band3.gain': 5 })], RATE, 128), signal);
    const parameters = { 'band3.gain': line([0, 5], [90_000, -5]) };
    const moved = run(
      new Chain([{ ...stepOf('eq', { 'band3.on': true, 'band3.gain': 5 }), lines: { parameters } }], RATE, 128),
      signal,
    );
    expect(moved.left).toEqual(still.left);
  });

  it('begins to move at the place of the song, within a control block, behind what comes late', () => {
    const late = stepOf('compressor', { lookAhead: 5 });
    const chain = new Chain([late, gainLine(line([0, 0], [5000, -20]))], RATE, 128);
    const { left } = run(chain, steady(1, 12_000));
    const moved = left.findIndex((x, n) => n > chain.latency + 64 && x !== 1) - chain.latency;
    expect(chain.latency).toBe(240);
    expect(moved).toBeGreaterThanOrEqual(5000);
    expect(moved).toBeLessThanOrEqual(5064);
    // The kernel smooths with a time constant of 15 ms.
    expect(left[chain.latency + 5064 + 7200]).toBeUndefined();
    expect(left.at(-1)).toBeCloseTo(gainOf(-20), 3);
  });

  it('bypasses without a change of delay, and is a wire then, bit for bit', () => {
    const signal = { left: Float64Array.from(whiteNoise(0.2, 1)), right: Float64Array.from(whiteNoise(0.2, 2)) };
    const squeeze = stepOf('compressor', { lookAhead: 5, threshold: -40, ratio: 10 });
    const bypass = line([0, 0], [4000, 1], [7000, 0]);
    const chain = new Chain([{ ...squeeze, lines: { bypass } }], RATE, 128);
    const out = run(chain, signal);
    const wet = run(new Chain([squeeze], RATE, 128), signal);
    expect(out.left.slice(0, 4000)).toEqual(wet.left.slice(0, 4000));
    const from = 4000 + 480 + 64;
    expect(out.left.slice(240 + from, 240 + 7000 - 64)).toEqual(signal.left.slice(from, 7000 - 64));
    expect(out.left.slice(240 + 7000 + 480 + 64)).toEqual(wet.left.slice(240 + 7000 + 480 + 64));
  });

  it.each([[1], [64], [37]])('does not hang on the blocks that it runs in: %d', (block) => {
    const step = { ...stepOf('delay', { mix: 40 }), wetDry: { wet: 0, law: 'linear' as const } };
    const lines = {
      wet: line([500, 0, 'linear'], [3000, 1]),
      parameters: { mix: line([100, 40, 's-curve'], [4000, 90]) },
    };
    const signal = { left: Float64Array.from(whiteNoise(0.1, 1)), right: Float64Array.from(whiteNoise(0.1, 2)) };
    const make = (): Chain => new Chain([{ ...step, lines }], RATE, 128);
    expect(run(make(), signal, [block]).left).toEqual(run(make(), signal).left);
  });
});

describe('a strip that follows lines', () => {
  const spec: StripSpec = {
    arrival: 100,
    inputs: [
      {
        gains: straight(1),
        delay: 100,
        moving: {
          levels: [line([1000, 0, 'linear'], [3000, -20], [3500, 6])],
          switches: [line([0, 1], [2000, 0], [2600, 1])],
          pan: { line: line([0, -0.5, 'linear'], [4000, 0.5]), channels: 1, law: '-3 dB' as const },
        },
      },
    ],
    keyInputs: [],
    steps: [
      {
        ...stepOf('saturator', { drive: 3 }),
        lines: {
          parameters: { drive: line([900, 3, 'linear'], [3200, 12]) },
          bypass: line([0, 0], [2111, 1], [2999, 0]),
        },
      },
    ],
  };
  const signal = whiteNoise(0.1, 3);
  const through = (strip: Strip, from: number, to: number): Float32Array => {
    const out = new Float32Array(to - from);
    strip.process([[signal]], out, new Float32Array(to - from), from, to - from, 0);
    return out;
  };

  it.each([[2000], [2053], [3164]])('goes on from its state in the middle of a block, bit for bit: %d', (cut) => {
    const whole = through(new Strip(spec, RATE, 8192), 0, signal.length);
    const first = new Strip(spec, RATE, 8192);
    const before = through(first, 0, cut);
    const second = new Strip(spec, RATE, 8192);
    restoreState(second, structuredClone(stateOf(first)));
    expect([...before, ...through(second, cut, signal.length)]).toEqual([...whole]);
  });

  it('told of another place begins with what the lines are there', () => {
    const dry = { ...spec, steps: [] };
    const whole = through(new Strip(dry, RATE, 8192), 0, signal.length);
    const later = new Strip(dry, RATE, 8192);
    later.seek(2400);
    expect(through(later, 2400, 4800).slice(100)).toEqual(whole.slice(2500));
  });
});
