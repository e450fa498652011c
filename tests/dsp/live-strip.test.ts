import { describe, expect, test } from 'vitest';
import { listensToKey, type ChainStep } from '../../src/dsp/core/chain.ts';
import { straight } from '../../src/dsp/core/gain-matrix.ts';
import { LiveStrip } from '../../src/dsp/core/live-strip.ts';
import { processors } from '../../src/dsp/core/registry.ts';
import { Strip, type StripSpec } from '../../src/dsp/core/strip.ts';
import { loudestBurstDb } from '../helpers/bursts.ts';
import { noise, stepOf, tone } from '../helpers/chains.ts';
import { randomCorners, sameLatency } from '../helpers/corners.ts';
import { casesOf } from '../helpers/soak.ts';

const FRAMES = 16_000;
const CHANGE = 6400;
/** Ways of each processor from one setting to another. */
const MOST_MOVES = casesOf(1, 5);
/** The fade, frames. */
const FADE = 960;

const specOf = (...steps: ChainStep[]): StripSpec => ({
  inputs: [{ gains: straight(1), delay: 0 }],
  keyInputs: [],
  steps,
});

/** Left side of `input` through a strip that changes from one to the other at frame CHANGE, in quanta of 128. */
const heard = (input: Float32Array, from: StripSpec, to: StripSpec): Float64Array => {
  const strip = new LiveStrip(from, 48_000, 128);
  const out = new Float32Array(FRAMES);
  const right = new Float32Array(128);
  for (let at = 0; at < FRAMES; at += 128) {
    if (at === CHANGE) strip.moveTo(to);
    const count = Math.min(128, FRAMES - at);
    strip.process([[input.subarray(at, at + count)]], out.subarray(at, at + count), right, count);
  }
  return Float64Array.from(out);
};

const throughout = (input: Float32Array, spec: StripSpec): Float64Array => {
  const out = new Float32Array(FRAMES);
  new Strip(spec, 48_000, FRAMES).process([[input]], out, new Float32Array(FRAMES), 0, FRAMES);
  return Float64Array.from(out);
};

const greatest = (samples: Float64Array, other: Float64Array, from: number): number =>
  samples.reduce((most, x, n) => (n < from ? most : Math.max(most, Math.abs(x - other[n]!))), 0);

/** Sound that ends long before the change: what is heard behind it are tails. */
const burst = Float32Array.from(noise(FRAMES, 3, 0.5).left, (x, n) => (n < 4000 ? x : 0));
const music = Float32Array.from(noise(FRAMES, 4, 0.5).left);
const reverb = stepOf('reverb', { decay: 2, mix: 100 });
const squeeze = stepOf('compressor', { threshold: -40, ratio: 8, attack: 5, release: 2000, autoMakeUp: false });

describe('new values', () => {
  test.each([...processors.values()].map((processor) => [processor.id, processor] as const))(
    'move %s as its kernel moves, without another start',
    (id, processor) => {
      let moved = 0;
      for (const corner of randomCorners(processor, 6, 5)) {
        const to = stepOf(id, sameLatency(processor, corner, processor.start));
        const from = stepOf(id, processor.start);
        // Another key is another way for the sound: it is faded to.
        if (listensToKey(to) !== listensToKey(from) || moved === MOST_MOVES) continue;
        moved++;
        const direct = new Strip(specOf(from), 48_000, 128);
        const expected = new Float32Array(FRAMES);
        for (let at = 0; at < FRAMES; at += 128) {
          if (at === CHANGE) direct.set(0, to.values);
          direct.process([[music]], expected, new Float32Array(FRAMES), at, Math.min(128, FRAMES - at));
        }
        expect(heard(music, specOf(from), specOf(to))).toEqual(Float64Array.from(expected));
      }
      expect(moved).toBeGreaterThan(0);
    },
  );

  test('keep the tail that sounds: a reverb goes on behind an EQ that is turned', () => {
    const eq = (gain: number): ChainStep => stepOf('eq', { 'band1.on': true, 'band1.gain': gain });
    const kept = heard(burst, specOf(eq(0), reverb), specOf(eq(6), reverb));
    // Nothing comes to the EQ any more: the tail is the one that was.
    expect(greatest(kept, throughout(burst, specOf(eq(0), reverb)), CHANGE)).toBeLessThan(1e-7);
  });
});

describe('other processors', () => {
  test('leave a tail as it is', () => {
    const gain = stepOf('gain', {});
    const before = throughout(burst, specOf(reverb));
    expect(greatest(before, new Float64Array(FRAMES), CHANGE)).toBeGreaterThan(1e-3);
    for (const [from, to] of [
      [[gain, reverb], [reverb]],
      [[reverb], [reverb, gain]],
      [[reverb], [gain, reverb, gain]],
    ] as const)
      expect(greatest(heard(burst, specOf(...from), specOf(...to)), before, CHANGE)).toBeLessThan(1e-7);
  });

  test('leave an envelope as it is: a compressor holds what it held when something is put in front of it', () => {
    const after = heard(music, specOf(squeeze), specOf(stepOf('gain', {}), squeeze));
    expect(greatest(after, throughout(music, specOf(squeeze)), CHANGE)).toBeLessThan(1e-7);
  });

  test('are faded to, and what is gone is gone after the fade', () => {
    const after = heard(music, specOf(squeeze), specOf());
    expect(greatest(after, Float64Array.from(music), CHANGE + FADE)).toBe(0);
    expect(greatest(after, throughout(music, specOf(squeeze)), 0)).toBeGreaterThan(0.1);
  });

  test('come without a click', () => {
    const sine = Float32Array.from(tone(997, FRAMES, 0.25).left);
    for (const [from, to] of [
      [[squeeze], []],
      [[], [squeeze]],
      [[squeeze], [stepOf('saturator', { drive: 6 }), squeeze]],
    ] as const) {
      const around = heard(sine, specOf(...from), specOf(...to)).subarray(CHANGE - 2000, CHANGE + 4000);
      const rest = heard(sine, specOf(...to), specOf(...to)).subarray(CHANGE - 2000, CHANGE + 4000);
      // A step of a quarter of full scale would stand 40 dB higher.
      const bound = Math.max(-75, 3 + loudestBurstDb(rest, 6000, 0.25));
      expect(loudestBurstDb(around, 6000, 0.25)).toBeLessThan(bound);
    }
  });
});
