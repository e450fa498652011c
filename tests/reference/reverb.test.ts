import { describe, expect, it } from 'vitest';
import { absorptionFilter, passGain } from '../../src/dsp/reverb/absorbing-line.ts';
import { earlyPattern } from '../../src/dsp/reverb/early-reflections.ts';
import { FeedbackNetwork } from '../../src/dsp/reverb/feedback-network.ts';
import { MIX_GAIN, mixAcross, mixNeighbours } from '../../src/dsp/reverb/hadamard.ts';
import type { Settings } from '../../src/dsp/core/parameter.ts';
import { CONTROL_FRAMES, type KeySignal } from '../../src/dsp/core/processor.ts';
import { characters } from '../../src/dsp/reverb/room-character.ts';
import { SteepCuts, type SteepOrder } from '../../src/dsp/filters/steep-cuts.ts';
import { impulse, stepOf, through } from '../helpers/chains.ts';
import { decayTime, echoDensity, octave } from '../helpers/room-figures.ts';
import { seeded } from '../helpers/signals.ts';
import { sampleOf } from '../helpers/soak.ts';

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

const mixSixteen = (signals: readonly Float64Array[], count: number): void => {
  for (const first of [0, 4, 8, 12]) mixNeighbours(signals, first, count);
  for (const n of [0, 1, 2, 3]) mixAcross(signals, n, count);
  for (const signal of signals) signal.forEach((x, i) => (signal[i] = MIX_GAIN * x));
};

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

  it.each(sampleOf(settings, 6))('size %d, decay %f s: T30 within one part in 20 on both sides', (size, decay) => {
    const { left, right } = response({ size, decay }, 1.6 * decay + 0.2);
    for (const side of [left, right]) expect(Math.abs(decayTime(side) / decay - 1)).toBeLessThan(0.05);
  });

  it('is the same in all octaves without damping', () => {
    // Noise that decays so scatters by 6 % in the lowest octave (thirty seeds), hence the mean of both sides.
    const { left, right } = response({ decay: 1.5 }, 3);
    for (const hz of [125, 250, 500, 1000, 2000, 4000, 8000]) {
      const seconds = (decayTime(octave(left, hz)) + decayTime(octave(right, hz))) / 2;
      expect(Math.abs(seconds / 1.5 - 1), `${hz} Hz`).toBeLessThan(0.05);
    }
  });

  it('stays within 10 % at 500 Hz and 1 kHz with half the highs damped, and halves at the top', () => {
    const { left } = response({ decay: 1.5, damping: 50, dampingFrequency: 5000 }, 3);
    for (const hz of [500, 1000]) expect(Math.abs(decayTime(octave(left, hz)) / 1.5 - 1), `${hz} Hz`).toBeLessThan(0.1);
    // 5 kHz loses half-way in dB: 1.5 / (0.5 (1 + 2)) = 1 s. The octave is wide, so 15 %.
    expect(Math.abs(decayTime(octave(left, 5000)) / 1 - 1)).toBeLessThan(0.15);
    expect(Math.abs(decayTime(octave(left, 16000)) / 0.75 - 1)).toBeLessThan(0.1);
  });
});

const CHARACTERS = ['room', 'chamber', 'hall'];

describe('decay time of the other characters', () => {
  const settings = CHARACTERS.flatMap((character) =>
    [10, 50, 100].flatMap((size) => [0.4, 1, 2.5].map((decay) => [character, size, decay] as const)),
  );

  it.each(sampleOf(settings, 9))(
    '%s, size %d, decay %f s: T30 within one part in 20 on both sides',
    (character, size, decay) => {
      const { left, right } = response({ character, size, decay }, 1.6 * decay + 0.2);
      for (const side of [left, right]) expect(Math.abs(decayTime(side) / decay - 1)).toBeLessThan(0.05);
    },
  );

  it.each([
    [200, 2.4],
    [150, 1.8],
    [50, 0.6],
  ])('low decay %d %%: the lows take their part, the rest keeps its own', (lowDecay, expected) => {
    const { left } = response({ character: 'hall', decay: 1.2, lowDecay, lowFrequency: 400 }, 3.5);
    expect(Math.abs(decayTime(octave(left, 50)) / expected - 1)).toBeLessThan(0.1);
    for (const hz of [4000, 8000])
      expect(Math.abs(decayTime(octave(left, hz)) / 1.2 - 1), `${hz} Hz`).toBeLessThan(0.05);
  });

  it('falling damping has the loss of the level one at its turn, and more and more above', () => {
    const shared = { decay: 1.5, damping: 50, dampingFrequency: 4000 };
    const level = response({ ...shared, dampingShape: 'level' }, 3).left;
    const falling = response({ ...shared, dampingShape: 'falling' }, 3).left;
    // 1.5 / (0.5 (1 + 2)) = 1 s at the turn; the octave is wide, so 15 %.
    for (const tail of [level, falling]) expect(Math.abs(decayTime(octave(tail, 4000)) / 1 - 1)).toBeLessThan(0.15);
    expect(decayTime(octave(level, 12000))).toBeGreaterThan(0.7);
    expect(decayTime(octave(falling, 12000))).toBeLessThan(0.5);
    expect(Math.abs(decayTime(octave(falling, 500)) / 1.5 - 1)).toBeLessThan(0.05);
  });
});

describe('first reflections (image sources; Allen and Berkley, 1979)', () => {
  it('a floor is as far as the mirrored source: by Pythagoras', () => {
    const box = {
      size: [50, 60, 40],
      sources: [
        [20, 10, 1],
        [30, 10, 1],
      ],
      listener: [24, 40, 2],
    } as const;
    const direct = Math.hypot(4, 30, 1);
    const floor = Math.hypot(4, 30, 3);
    const [first] = earlyPattern(box).filter(({ from }) => from === 0);
    expect(first!.seconds).toBeCloseTo((floor - direct) / 343, 12);
  });

  it.each(CHARACTERS)(
    '%s: single echoes where its walls are, scaled by its size, before anything else',
    (character) => {
      const pattern = characters[character as 'room'].early;
      for (const size of [40, 100]) {
        const { left } = response({ character, size, early: 100, preDelay: 10 }, 0.4);
        const heard = pattern
          .filter(({ to }) => to === 0)
          .map(({ seconds }) => Math.round(seconds * (size / 100) * 48000));
        const most = Math.max(...left.map(Math.abs));
        const at = [...left].flatMap((x, n) => (Math.abs(x) > 0.05 * most ? [n - 480] : []));
        expect(at).toEqual([...new Set(heard)].sort((a, b) => a - b));
      }
    },
  );
});

describe('steep cuts (Butterworth: 3.01 dB at the corner, 10 log10(1 + 2^(2 n)) an octave away)', () => {
  it.each([
    ['12 dB/oct', 2],
    ['24 dB/oct', 4],
  ])('%s', (slope, order) => {
    const cuts = new SteepCuts(400, 4000, order as SteepOrder, 48000);
    const { left, right } = impulse(CONTROL_FRAMES * 200);
    for (let from = 0; from < left.length; from += CONTROL_FRAMES) {
      cuts.control();
      const [a, b] = [left, right].map((side) => side.subarray(from, from + CONTROL_FRAMES)) as [
        Float64Array,
        Float64Array,
      ];
      cuts.process(a, b, CONTROL_FRAMES, 0);
    }
    expect(right).toEqual(left);
    const db = (hz: number): number => {
      let [re, im] = [0, 0];
      left.forEach((x, n) => {
        re += x * Math.cos((2 * Math.PI * hz * n) / 48000);
        im += x * Math.sin((2 * Math.PI * hz * n) / 48000);
      });
      return 20 * Math.log10(Math.hypot(re, im));
    };
    // The other cut is more than three octaves away; the bilinear transform is exact at the corner and steeper above it.
    for (const hz of [400, 4000]) expect(db(hz)).toBeCloseTo(-3.01, 1);
    expect(db(200)).toBeCloseTo(-10 * Math.log10(1 + 2 ** (2 * order)), 1);
    const warped = Math.tan((Math.PI * 8000) / 48000) / Math.tan((Math.PI * 4000) / 48000);
    expect(db(8000)).toBeCloseTo(-10 * Math.log10(1 + warped ** (2 * order)), 1);
    expect(Math.abs(db(1265)), slope).toBeLessThan(0.1);
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

  it.each(CHARACTERS)('%s: echoes are dense within 200 ms, and stay so', (character) => {
    const { left, right } = response({ character, decay: 2 }, 1);
    for (const side of [left, right]) {
      const times = Array.from({ length: 95 }, (_, n) => 0.01 + 0.002 * n);
      expect(Math.max(...times.map((seconds) => echoDensity(side, seconds)))).toBeGreaterThanOrEqual(1);
      for (const seconds of [0.2, 0.4]) expect(echoDensity(side, seconds)).toBeGreaterThan(0.8);
    }
  });
});
