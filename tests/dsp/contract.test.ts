import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { Chain, type ProcessorStep } from '../../src/dsp/core/chain.ts';
import type { Parameter, Settings } from '../../src/dsp/core/parameter.ts';
import type { KeySignal } from '../../src/dsp/core/processor.ts';
import { processors } from '../../src/dsp/core/registry.ts';
import {
  both,
  firstDifference,
  impulse,
  later,
  noise,
  peakOf,
  run,
  steady,
  stepOf,
  through,
} from '../helpers/chains.ts';
import { casesOf, isSoaking, sampleOf } from '../helpers/soak.ts';
import { cornersOf, extremesOf, randomCorners, sameLatency, singleCorners } from '../helpers/corners.ts';

// What every processor promises, run over all that the registry holds.

const RATES = isSoaking ? [44100, 48000, 96000, 192000] : [44100, 48000, 192000];
const BLOCKS = isSoaking ? [[1], [7], [64], [100], [128], [1000], [3, 61, 200]] : [[1], [128], [3, 61, 200]];
const KEY = noise(20000, 99, 0.5);
/** So many corners of a processor, always the same, and as many as it has when soaking. */
const MOST_CORNERS = 5;
/** Longest stated tail that is listened to to its end, seconds: of the settings it starts with, and of others. */
const LONGEST_TAIL = { start: 4, others: casesOf(1, 4) };

/** Settings for which left and right may differ although the input is the same on both sides, with the reason. */
const MAY_DIFFER: Readonly<Record<string, (settings: Settings) => boolean>> = {
  // Bands on one channel.
  eq: (settings) => Object.values(settings).some((setting) => setting === 'left' || setting === 'right'),
  gain: ({ polarity }) => polarity === 'left inverted' || polarity === 'right inverted',
  // Different echoes on each side, unless they are folded into one.
  reverb: ({ width }) => width !== 0,
  // Repeats on one side at a time, or at two times.
  delay: ({ mode, offset = 0 }) => mode === 'ping-pong' || offset !== 0,
  panner: ({ pan = 0, balance = 0 }) => pan !== 0 || balance !== 0,
  // What decorrelation adds to one side it takes from the other; a delay holds one side back.
  widener: ({ decorrelation = 0, delay = 0 }) => decorrelation !== 0 || delay !== 0,
  // A space that is not the same on both sides, unless it is folded.
  convolution: ({ width }) => width !== 0,
  // Copies that stand on one side or the other.
  chorus: ({ spread }) => spread !== 0,
  doubler: ({ spread }) => spread !== 0,
  // Each channel moves by itself.
  tape: ({ apart = 0 }) => apart !== 0,
};

const allFinite = ({ left, right }: KeySignal): boolean => left.every(Number.isFinite) && right.every(Number.isFinite);

const cutKey = (frames: number): KeySignal => ({
  left: KEY.left.subarray(0, frames),
  right: KEY.right.subarray(0, frames),
});

const joined = (parts: readonly KeySignal[]): KeySignal => {
  const frames = parts.reduce((sum, { left }) => sum + left.length, 0);
  const whole = { left: new Float64Array(frames), right: new Float64Array(frames) };
  let at = 0;
  for (const { left, right } of parts) {
    whole.left.set(left, at);
    whole.right.set(right, at);
    at += left.length;
  }
  return whole;
};

describe.each([...processors.values()].map((processor) => [processor.id, processor] as const))(
  '%s',
  (id, processor) => {
    const step = (settings: Settings = {}): ProcessorStep => stepOf(id, settings);
    const chain = (settings: Settings = {}, sampleRate = 48000): Chain => new Chain([step(settings)], sampleRate, 1000);
    const latencyOf = (settings: Settings, sampleRate = 48000): number =>
      processor.latency(step(settings).values, sampleRate);
    const corners = sampleOf(cornersOf(processor), MOST_CORNERS);

    describe('says what it is', () => {
      test('in words', () => {
        for (const text of [id, processor.label, processor.about]) expect(text.trim()).not.toBe('');
        for (const { label, about } of Object.values(processor.parameters)) {
          expect(label.trim()).not.toBe('');
          expect(about, label).toMatch(/\.$/);
        }
      });

      test('in ranges that hold their defaults and starts', () => {
        for (const [name, parameter] of Object.entries(processor.parameters)) {
          expectInside(name, parameter, parameter.default);
          if (parameter.kind !== 'number') continue;
          expect(parameter.min, name).toBeLessThan(parameter.max);
          if (parameter.scale === 'logarithmic') expect(parameter.min, name).toBeGreaterThan(0);
        }
        for (const [name, setting] of Object.entries(processor.start)) {
          expect(Object.keys(processor.parameters)).toContain(name);
          expectInside(name, processor.parameters[name]!, setting);
        }
      });

      test('in pictures of finite points in order, whole latencies and tails', () => {
        const { picture, latency, tail } = processor;
        for (const settings of [{}, ...corners])
          for (const rate of RATES) {
            const { values, sound } = step(settings);
            const points = picture.points(values, rate, 64);
            expect(points.length).toBeGreaterThan(0);
            expect(points.length).toBeLessThanOrEqual(64);
            expect(points.flat().filter((number) => !Number.isFinite(number))).toEqual([]);
            expect(points.map(([x]) => x)).toEqual(points.map(([x]) => x).sort((a, b) => a - b));
            for (const frames of [latency(values, rate), tail(values, rate, sound)]) {
              expect(Number.isInteger(frames)).toBe(true);
              expect(frames).toBeGreaterThanOrEqual(0);
            }
          }
      });
    });

    describe('is a wire with no settings', () => {
      const neutral = [{}, ...singleCorners(processor, {}).filter((settings) => latencyOf(settings) !== latencyOf({}))];

      test.each(RATES)('to the last bit, after its stated latency, at %d Hz', (rate) => {
        for (const settings of neutral) {
          const latency = latencyOf(settings, rate);
          const frames = latency + 6000;
          const input = noise(frames, 3, 16);
          const output = through([step(settings)], input, rate, cutKey(frames));
          expect(firstDifference(output, later(input, latency)), JSON.stringify(settings)).toBe(null);
        }
      });

      test('on an impulse, which arrives when it says', () => {
        for (const settings of neutral) {
          const output = through([step(settings)], impulse(6000, 100));
          expect(output.left.indexOf(1), JSON.stringify(settings)).toBe(100 + latencyOf(settings));
          expect(output.left.filter((x) => x !== 0)).toHaveLength(1);
        }
      });
    });

    test('silence stays exactly silent', () => {
      for (const settings of corners) {
        const output = through([step(settings)], steady(0, 4000), 48000, cutKey(4000));
        expect(peakOf(output), JSON.stringify(settings)).toBe(0);
      }
    });

    test('falls below -120 dB of its input after the stated latency and tail', () => {
      let heard = 0;
      for (const settings of [...corners, ...randomCorners(processor, casesOf(2, 24), 12)]) {
        const { values, sound: response } = step(settings);
        const tail = processor.tail(values, 48000, response);
        if (tail > 48000 * (settings === processor.start ? LONGEST_TAIL.start : LONGEST_TAIL.others)) continue;
        heard++;
        const sound = joined([noise(6000, 5), steady(1, 6000)]);
        const from = 12000 + latencyOf(settings) + tail;
        const output = through([step(settings)], joined([sound, steady(0, latencyOf(settings) + tail + 4800)]));
        expect(peakOf(output, from), JSON.stringify(settings)).toBeLessThan(1e-6);
      }
      expect(heard).toBeGreaterThan(0);
    });

    describe('gives the same samples', () => {
      const tried = [processor.start, ...randomCorners(processor, casesOf(2, 6), 21)];
      const input = noise(4000, 8, 0.7);
      const key = cutKey(4000);

      test('whatever the block length', () => {
        for (const settings of tried) {
          const whole = run(chain(settings), input, [1000], key);
          for (const blocks of BLOCKS)
            expect(firstDifference(run(chain(settings), input, blocks, key), whole), JSON.stringify(settings)).toBe(
              null,
            );
        }
      });

      test('whatever the block lengths, with a change of settings on the way', () => {
        const half = (from: number, to: number): KeySignal => ({
          left: input.left.subarray(from, to),
          right: input.right.subarray(from, to),
        });
        const played = (to: Settings, first: readonly number[], second: readonly number[]): KeySignal => {
          const running = chain(processor.start);
          const before = run(running, half(0, 1000), first);
          running.set(0, step(to).values);
          return joined([before, run(running, half(1000, 4000), second)]);
        };
        const lengths = fc.array(fc.integer({ min: 1, max: 1000 }), { minLength: 1, maxLength: 12 });
        for (const corner of randomCorners(processor, casesOf(2, 4), 44)) {
          const to = sameLatency(processor, corner, processor.start);
          const whole = played(to, [1000], [1000]);
          fc.assert(
            fc.property(
              lengths,
              lengths,
              (first, second) => firstDifference(played(to, first, second), whole) === null,
            ),
            { numRuns: casesOf(5, 20) },
          );
        }
      });

      test('twice', () => {
        for (const settings of tried)
          expect(
            firstDifference(run(chain(settings), input, [128], key), run(chain(settings), input, [128], key)),
          ).toBe(null);
      });

      test('after a reset as when new', () => {
        for (const settings of tried) {
          const running = chain(settings);
          const first = run(running, input, [100], key);
          running.reset();
          expect(firstDifference(run(running, input, [128], key), first), JSON.stringify(settings)).toBe(null);
        }
      });

      test('after new settings and a reset as when new with them', () => {
        for (const settings of sampleOf(singleCorners(processor, processor.start), MOST_CORNERS)) {
          if (latencyOf(settings) !== latencyOf(processor.start)) continue;
          const running = chain(processor.start);
          run(running, input, [100]);
          running.set(0, step(settings).values);
          run(running, noise(500, 2), [100]);
          running.reset();
          const fresh = run(chain(settings), input, [128]);
          expect(firstDifference(run(running, input, [128]), fresh), JSON.stringify(settings)).toBe(null);
        }
      });
    });

    test('stays finite on loud noise, soft noise, impulses and steady levels, at every corner', () => {
      const sounds = [
        noise(3000, 1, 16),
        noise(3000, 2, 1 / 16),
        impulse(3000, 500),
        steady(16, 3000),
        steady(-1, 3000),
      ];
      for (const settings of [...corners, ...randomCorners(processor, casesOf(3, 40), 31)]) {
        const output = run(chain(settings), joined(sounds), [128]);
        expect(allFinite(output), JSON.stringify(settings)).toBe(true);
      }
    });

    test.each(RATES.filter((rate) => rate !== 48000))(
      'keeps all this at %d Hz: silent in silence, finite, within its tail, alike in any blocks',
      (rate) => {
        for (const settings of [processor.start, ...randomCorners(processor, casesOf(1, 6), 63)]) {
          const said = JSON.stringify(settings);
          const silent = through([step(settings)], steady(0, 4000), rate, cutKey(4000));
          expect(peakOf(silent), said).toBe(0);
          const tail = processor.tail(step(settings).values, rate);
          const latency = latencyOf(settings, rate);
          const after = tail > LONGEST_TAIL.others * rate ? 0 : latency + tail;
          const input = joined([noise(6000, 5, 16), steady(0, after + 2000)]);
          const output = run(chain(settings, rate), input, [1000]);
          expect(firstDifference(run(chain(settings, rate), input, [3, 61, 200]), output), said).toBe(null);
          expect(allFinite(output), said).toBe(true);
          // -120 dB of the input's peak of 16.
          if (after > 0) expect(peakOf(output, 6000 + after), said).toBeLessThan(16e-6);
        }
      },
    );

    test('treats equal channels equally', () => {
      const alike = cornersOf(processor).filter((settings) => !MAY_DIFFER[id]?.({ ...processor.start, ...settings }));
      expect(alike).not.toHaveLength(0);
      for (const settings of sampleOf(alike, MOST_CORNERS)) {
        // Half a second: long enough for echoes and reverberation to be heard.
        const { left, right } = through([step(settings)], both(noise(24000, 14).left));
        expect(firstDifference({ left, right: left }, { left: right, right }), JSON.stringify(settings)).toBe(null);
      }
    });
  },
);

function expectInside(name: string, parameter: Parameter, setting: unknown): void {
  if (parameter.kind === 'number') {
    expect(setting, name).toBeTypeOf('number');
    expect(setting, name).toBeGreaterThanOrEqual(parameter.min);
    expect(setting, name).toBeLessThanOrEqual(parameter.max);
  } else {
    expect(extremesOf(parameter), name).toContain(setting);
  }
}
