import { describe, expect, it } from 'vitest';
import { Chain } from '../../src/dsp/core/chain.ts';
import { type Settings, valuesFrom } from '../../src/dsp/core/parameter.ts';
import { CONTROL_FRAMES, type KeySignal } from '../../src/dsp/core/processor.ts';
import { processor } from '../../src/dsp/processors/reverb.ts';
import { both, impulse, noise, peakOf, run, steady, stepOf, through, tone } from '../helpers/chains.ts';
import { lineLengths } from '../../src/dsp/reverb/room-lines.ts';
import { decayTime, octave, tailFigures } from '../helpers/room-figures.ts';
import { pinkNoise } from '../helpers/signals.ts';
import { sampleOf } from '../helpers/soak.ts';
import { splatterDb } from '../helpers/splatter.ts';

const played = (settings: Settings, input: KeySignal, rate = 48000): KeySignal =>
  through([stepOf('reverb', { mix: 100, ...settings })], input, rate);
const response = (settings: Settings, seconds: number): KeySignal =>
  played(settings, impulse(Math.round(seconds * 48000)));
const db = (ratio: number): number => 20 * Math.log10(ratio);
const rms = (samples: Float64Array): number => Math.sqrt(samples.reduce((sum, x) => sum + x * x, 0) / samples.length);

const correlation = ({ left, right }: KeySignal): number =>
  left.reduce((sum, x, n) => sum + x * right[n]!, 0) / (left.length * rms(left) * rms(right));

const gcd = (a: number, b: number): number => (b === 0 ? a : gcd(b, a % b));

describe('lines of the reverb', () => {
  it.each([22050, 44100, 48000, 96000, 192000])('have no divisor in common at %d Hz, at any decay', (rate) => {
    for (const decay of [0.1, 1, 2, 20]) {
      const lengths = lineLengths({ decay }, rate);
      for (const [i, a] of lengths.entries())
        for (const b of lengths.slice(i + 1)) expect(gcd(a, b), `${a} and ${b}`).toBe(1);
      expect(Math.min(...lengths)).toBeGreaterThan(CONTROL_FRAMES);
    }
  });

  it('are alike long in sum on both sides', () => {
    const lengths = lineLengths({ decay: 2 }, 48000);
    const side = (odd: number): number => lengths.reduce((sum, x, i) => sum + (i % 2 === odd ? x : 0), 0);
    expect(Math.abs(side(0) / side(1) - 1)).toBeLessThan(0.02);
  });
});

describe('reverb', () => {
  // Half of them; when soaking all.
  const loud: readonly Settings[] = [
    { decay: 0.3, size: 10 },
    { decay: 0.3, size: 100 },
    { decay: 2, size: 10 },
    { decay: 2, size: 100 },
    { decay: 6, size: 50 },
    { decay: 3, damping: 80, dampingFrequency: 2000 },
    { decay: 2, diffusion: 0 },
    { decay: 2, width: 0 },
    { decay: 2, modulation: 0.5 },
    { decay: 2, lowDecay: 200 },
    { decay: 1, damping: 60, dampingShape: 'falling' },
    { character: 'room', decay: 0.6 },
    { character: 'chamber', decay: 1.5, early: 100 },
    { character: 'hall', decay: 3, early: 60, size: 80 },
  ];
  it.each(sampleOf(loud, 7))('returns pink noise as loud as it was with %o', (settings) => {
    const sides = [1, 2].map((seed) => pinkNoise(2.7, seed)) as [Float32Array, Float32Array];
    // Two periods: the first fills the room.
    const twice = (x: Float32Array): Float64Array => Float64Array.from([...x, ...x]);
    const input = { left: twice(sides[0]), right: twice(sides[1]) };
    const output = played(settings, input);
    for (const side of ['left', 'right'] as const) {
      const level = db(rms(output[side].slice(input.left.length / 2)) / 0.1);
      expect(Math.abs(level)).toBeLessThan(1.5);
    }
  });

  it('gives two sides that have nothing in common from one sound, alike in level', () => {
    const output = response({ decay: 2 }, 2);
    expect(Math.abs(correlation(output))).toBeLessThan(0.1);
    expect(Math.abs(db(rms(output.left) / rms(output.right)))).toBeLessThan(0.5);
  });

  it('hears a sound on the left first on the left, and soon on both sides', () => {
    const frames = 24000;
    const { left, right } = played({ decay: 2 }, { left: impulse(frames).left, right: new Float64Array(frames) });
    const first = (side: Float64Array): number => side.findIndex((x) => Math.abs(x) > 1e-6);
    expect(first(left)).toBeLessThan(first(right));
    expect(Math.abs(db(rms(left.slice(12000)) / rms(right.slice(12000))))).toBeLessThan(1);
  });

  it('narrows to one point at width 0', () => {
    const { left, right } = response({ width: 0 }, 0.5);
    expect(right).toEqual(left);
    expect(correlation(response({ width: 50 }, 1))).toBeGreaterThan(0.3);
  });

  it('lets no steady level through, and does not let it pile up', () => {
    expect(peakOf(played({ decay: 20 }, steady(1, 96000)))).toBeLessThan(1);
    // The step at the beginning is a sound; after 2.5 times the decay it is gone, and the level that stays is not heard.
    expect(peakOf(played({ decay: 0.8 }, steady(1, 96000)), 95000)).toBeLessThan(1e-5);
  });

  // Gaussian noise has 5.57 dB and 0.04. Fewer modes than hertz (small rooms, long decays) raise the first; a line heard as a
  // repetition would raise the second to 0.25.
  it.each<[Settings, number, number]>([
    [{ size: 100 }, 6.2, 0.1],
    [{ size: 75 }, 6.4, 0.1],
    [{ size: 50 }, 7, 0.12],
    [{ size: 50, modulation: 0.3 }, 6.4, 0.1],
    [{ size: 25, modulation: 0.3 }, 7, 0.12],
    [{ character: 'room', size: 80 }, 7, 0.12],
    [{ character: 'chamber', size: 80 }, 7, 0.12],
    [{ character: 'hall', size: 50 }, 6.4, 0.12],
  ])('rings evenly with %o: level spread below %f dB, repetition below %f', (settings, spreadDb, repetition) => {
    const { left, right } = response({ decay: 3, ...settings }, 2);
    for (const side of [left, right])
      for (const seconds of [0.5, 1.5]) {
        const figures = tailFigures(side, 3, seconds);
        expect(figures.spreadDb).toBeLessThan(spreadDb);
        expect(figures.repetition).toBeLessThan(repetition);
      }
  });

  it('keeps its highs with modulation: the same decay in the octave of 8 kHz', () => {
    const { left } = response({ decay: 2, modulation: 0.5, rate: 1 }, 3.5);
    expect(Math.abs(decayTime(octave(left, 8000)) / 2 - 1)).toBeLessThan(0.05);
  });

  it('has no trace of modulation at depth 0', () => {
    expect(response({ rate: 5 }, 0.5)).toEqual(response({ rate: 0.05 }, 0.5));
  });

  it('stays stable at its longest, smallest and most moved', () => {
    const settings = { decay: 20, size: 10, modulation: 1, rate: 5 };
    const chain = new Chain([stepOf('reverb', { mix: 100, ...settings })], 44100, 128);
    run(chain, noise(44100, 3, 16));
    const early = run(chain, steady(0, 44100));
    const late = run(chain, steady(0, 10 * 44100));
    expect(peakOf(early)).toBeLessThan(200);
    expect(rms(late.left.slice(-44100))).toBeLessThan(0.5 * rms(early.left));
  });

  it('is silent at the end of its tail, and not long before', () => {
    const settings = { decay: 0.5, preDelay: 30, lowCut: 100 };
    const tail = processor.tail(valuesFrom(processor.parameters, { mix: 100, ...settings }), 48000);
    const output = played(settings, impulse(2 * tail));
    expect(peakOf(output, tail)).toBeLessThan(1e-6);
    expect(peakOf(output, Math.round(tail / 2))).toBeGreaterThan(1e-6);
  });

  it('sounds the same after sleeping through a long silence as when new', () => {
    const chain = new Chain([stepOf('reverb', { decay: 0.1, mix: 100 })], 48000, 64);
    const input = noise(4800, 9);
    const first = run(chain, input, [64]);
    run(chain, steady(0, 64 * 4000), [64]);
    expect(run(chain, input, [64])).toEqual(first);
  });

  it.each<[string, Settings, Settings]>([
    ['decay', { decay: 0.5 }, { decay: 4 }],
    ['size', { size: 30 }, { size: 60 }],
    ['pre-delay', { preDelay: 0 }, { preDelay: 50 }],
    ['damping', { damping: 0 }, { damping: 80 }],
    ['diffusion', { diffusion: 100 }, { diffusion: 20 }],
    ['modulation', { modulation: 0 }, { modulation: 0.3 }],
    ['width', { width: 100 }, { width: 0 }],
    ['cuts', { lowCut: 20, highCut: 20000 }, { lowCut: 500, highCut: 2000 }],
    ['mix', { mix: 0 }, { mix: 100 }],
    ['character', { character: 'plate' }, { character: 'hall' }],
    ['early reflections', { character: 'room', early: 0 }, { character: 'room', early: 100 }],
    ['low decay', { lowDecay: 50 }, { lowDecay: 200 }],
    ['damping shape', { damping: 50 }, { damping: 50, dampingShape: 'falling' }],
    ['cut slope', { lowCut: 500 }, { lowCut: 500, cutSlope: '24 dB/oct' }],
  ])('moves its %s without a click', (_, from, to) => {
    // Faded in, so that the tail holds no click of its beginning.
    const input = tone(3000, 131072, 0.5);
    for (const side of [input.left, input.right])
      for (let n = 0; n < 16384; n++) side[n]! *= Math.sin((Math.PI * n) / 32768) ** 4;
    const settings = (extra: Settings) => stepOf('reverb', { decay: 1, mix: 60, ...extra });
    const chain = new Chain([settings(from)], 48000, 64);
    const moves = [0, 40000, 50048, 60000, 131072];
    const output = moves.slice(1).flatMap((end, n) => {
      chain.set(0, settings(n % 2 ? to : from).values);
      return [...run(chain, both(input.left.subarray(moves[n], end)), [64]).left];
    });
    expect(splatterDb(Float64Array.from(output), 3000, 1500)).toBeLessThan(-80);
  });
});
