import { describe, expect, it } from 'vitest';
import { absorptionFilter, passGain } from '../../src/dsp/absorbing-line.ts';
import { FeedbackNetwork } from '../../src/dsp/feedback-network.ts';
import { mixSixteen } from '../../src/dsp/hadamard.ts';
import type { Settings } from '../../src/dsp/parameter.ts';
import { CONTROL_FRAMES, type KeySignal } from '../../src/dsp/processor.ts';
import { impulse, stepOf, through } from '../helpers/chains.ts';
import { decayTime, echoDensity, octave } from '../helpers/room-figures.ts';
import { seeded } from '../helpers/signals.ts';

const response = (settings: Settings, seconds: number): KeySignal =>
  through([stepOf('reverb', { mix: 100, ...settings })], impulse(Math.round(seconds * 48000)));

describe('loss of a line per pass, 10^(-3 d / (T60 fs)) (Jot and Chaigne, 1991)', () => {
  it.each([
    [1000, 1, 0.86596432336],
    [2053, 1, 0.744196288926],
    [4801, 2.5, 0.758533909051],
    [1499, 0.5, 0.649568565535],
    [4801, 0.5, 0.251116355651],
  ])('%d samples at 48 kHz, T60 %f s: %f', (length, decay, gain) => {
    expect(passGain(length, decay, 48000)).toBeCloseTo(gain, 11);
  });

  it('highs lose as if their own, shorter decay time had been set', () => {
    for (const highs of [0.5, 0.8]) {
      const [b0, b1, a1] = absorptionFilter(1499, { decay: 2, highs, turnHz: 4000 }, 48000);
      expect((b0 + b1) / (1 + a1)).toBeCloseTo(passGain(1499, 2, 48000), 12);
      expect((b0 - b1) / (1 - a1)).toBeCloseTo(passGain(1499, 2 * highs, 48000), 12);
    }
  });
});

describe('the mixing matrix', () => {
  const columns = Array.from({ length: 16 }, (_, input) => {
    const signals = Array.from({ length: 16 }, (__, line) => Float64Array.of(line === input ? 1 : 0));
    mixSixteen(signals, 1);
    return signals.map(([x]) => x!);
  });

  it('is orthogonal: A A^T is the identity within 1e-12', () => {
    const product = columns.map((a) => columns.map((b) => a.reduce((sum, x, i) => sum + x * b[i]!, 0)));
    for (const [i, row] of product.entries())
      for (const [j, x] of row.entries()) expect(Math.abs(x - (i === j ? 1 : 0))).toBeLessThan(1e-12);
  });

  it('reaches every line from every line at the same level', () => {
    for (const x of columns.flat()) expect(Math.abs(x)).toBe(0.25);
  });

  it('keeps energy, and lines without loss are wires, so the loop neither grows nor fades', () => {
    expect(absorptionFilter(1499, { decay: Infinity, highs: 1, turnHz: 4000 }, 48000)[0]).toBe(1);
    const random = seeded(5);
    const signals = Array.from({ length: 16 }, () => Float64Array.of(2 * random() - 1));
    const energy = (): number => signals.reduce((sum, [x]) => sum + x! ** 2, 0);
    const before = energy();
    for (let pass = 0; pass < 1000; pass++) mixSixteen(signals, 1);
    expect(Math.abs(energy() / before - 1)).toBeLessThan(1e-12);
  });

  it('keeps the energy of the whole network for a minute when nothing is lost', () => {
    const room = { decay: Infinity, highs: 1, turnHz: 4000, size: 0.5, depth: 0, rate: 1 };
    const network = new FeedbackNetwork(room, 48000);
    const [left, right, outLeft, outRight] = Array.from({ length: 4 }, () => new Float64Array(CONTROL_FRAMES)) as [
      Float64Array,
      Float64Array,
      Float64Array,
      Float64Array,
    ];
    left[0] = right[0] = 1;
    const powerOf = (seconds: number): number => {
      let power = 0;
      for (let block = 0; block < (seconds * 48000) / CONTROL_FRAMES; block++) {
        network.control();
        network.process(left, right, outLeft, outRight, CONTROL_FRAMES, 0);
        left[0] = right[0] = 0;
        for (let i = 0; i < CONTROL_FRAMES; i++) power += outLeft[i]! ** 2 + outRight[i]! ** 2;
      }
      return power / seconds;
    };
    powerOf(2);
    const early = powerOf(6);
    powerOf(46);
    // What the outputs hear of the constant whole varies from time to time; a loss of 1e-6 a pass would be 0.3 dB by now.
    expect(Math.abs(10 * Math.log10(powerOf(6) / early))).toBeLessThan(0.1);
  });
});

describe('decay time (Schroeder integration; T30 after ISO 3382-1)', () => {
  const settings = [10, 40, 70, 100].flatMap((size) => [0.4, 1, 2.5, 4].map((decay) => [size, decay] as const));

  it.each(settings)('size %d, decay %f s: T30 within one part in 20 on both sides', (size, decay) => {
    const { left, right } = response({ size, decay }, 1.6 * decay + 0.2);
    for (const side of [left, right]) expect(Math.abs(decayTime(side) / decay - 1)).toBeLessThan(0.05);
  });

  it('is the same in all octaves without damping', () => {
    const { left } = response({ decay: 1.5 }, 3);
    for (const hz of [125, 250, 500, 1000, 2000, 4000, 8000])
      expect(Math.abs(decayTime(octave(left, hz)) / 1.5 - 1), `${hz} Hz`).toBeLessThan(0.05);
  });

  it('stays within 10 % at 500 Hz and 1 kHz with half the highs damped, and halves at the top', () => {
    const { left } = response({ decay: 1.5, damping: 50, dampingFrequency: 5000 }, 3);
    for (const hz of [500, 1000]) expect(Math.abs(decayTime(octave(left, hz)) / 1.5 - 1), `${hz} Hz`).toBeLessThan(0.1);
    // 5 kHz loses half-way in dB: 1.5 / (0.5 (1 + 2)) = 1 s. The octave is wide, so 15 %.
    expect(Math.abs(decayTime(octave(left, 5000)) / 1 - 1)).toBeLessThan(0.15);
    expect(Math.abs(decayTime(octave(left, 16000)) / 0.75 - 1)).toBeLessThan(0.1);
  });
});

describe('onset and density', () => {
  it('pre-delay is a pure shift: 20 ms are 960 samples, to the bit', () => {
    const plain = response({}, 1);
    const later = response({ preDelay: 20 }, 1);
    expect(later.left.subarray(960)).toEqual(plain.left.subarray(0, 47040));
    expect(later.right.subarray(960)).toEqual(plain.right.subarray(0, 47040));
    expect(later.left.subarray(0, 960).every((x) => x === 0)).toBe(true);
  });

  it.each([10, 30, 50, 75, 100])(
    'size %d: echoes are as dense as noise within 100 ms (Abel and Huang, 2006)',
    (size) => {
      const { left, right } = response({ size, decay: 2 }, 1);
      for (const side of [left, right]) {
        const times = Array.from({ length: 45 }, (_, n) => 0.01 + 0.002 * n);
        expect(Math.max(...times.map((seconds) => echoDensity(side, seconds)))).toBeGreaterThanOrEqual(1);
        // Sparse reflections would score below 0.5; one window of true noise scatters by about 0.1.
        for (const seconds of [0.12, 0.2, 0.4]) expect(echoDensity(side, seconds)).toBeGreaterThan(0.8);
      }
    },
  );
});
