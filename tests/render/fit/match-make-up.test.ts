import { describe, expect, test } from 'vitest';
import type { Audio } from '../../../src/audio/audio.ts';
import { measure } from '../../../src/measure/measure.ts';
import { renderChain } from '../../../src/render/chain-render.ts';
import { matchedChain, matchingMakeUp } from '../../../src/render/fit/match-make-up.ts';
import type { ProcessorItem } from '../../../src/session/schema.ts';
import { stepsOf } from '../../../src/session/values.ts';
import { chainFrom } from '../../../src/session/presets/read-preset.ts';
import { processorItem } from '../../helpers/chain-items.ts';
import { mono, pinkNoise, scaled, joined, stereo } from '../../helpers/signals.ts';

const SONG = { tempo: 120, meter: [4, 4] as [number, 4] };
const loudness = (audio: Audio): number | null => measure(audio).integratedLufs;
const items = (...chain: readonly object[]) => chainFrom([...chain], 'chain');
const itemOf = (settings: ProcessorItem['settings']): ProcessorItem => processorItem('compressor', { settings });

const noise = stereo(pinkNoise(2.7, 1), pinkNoise(2.7, 2));
const fourSeconds = (seed: number): Float32Array => pinkNoise(4, seed).slice(0, 4 * 48000);
/** Four seconds, then four that are 12 dB softer. */
const falls = (seed: number): Float32Array => joined(fourSeconds(seed), scaled(fourSeconds(seed + 2), 0.25));
const falling = stereo(falls(3), falls(4));

describe('a constant make-up', () => {
  test.each([
    { threshold: -20, ratio: 2 },
    { threshold: -45, ratio: 10, attack: 1 },
    { threshold: -50, ratio: 100, attack: 0.1, lookAhead: 5 },
    { threshold: -40, ratio: 4, autoMakeUp: true, makeUp: 7 },
  ])('gives out the integrated loudness that comes in: %j', (settings) => {
    for (const input of [noise, falling, mono(noise.channels[0]!)]) {
      const { chain, makeUpDb } = matchedChain(
        input,
        items({ processor: 'compressor', settings }),
        null,
        SONG,
        loudness,
      );
      expect(makeUpDb[0]).toBeGreaterThan(0);
      const output = renderChain(input, stepsOf(chain, 120, [4, 4]), null);
      expect(Math.abs(loudness(output)! - loudness(input)!)).toBeLessThan(0.02);
    }
  });

  test('is that of the range asked for', () => {
    const item = itemOf({ threshold: -40, ratio: 4 });
    const over = (from: number, to: number) => matchingMakeUp(falling, item, { from, to }, SONG, loudness)!;
    const [loud, soft] = [over(0, 4 * 48000), over(4 * 48000, 8 * 48000)];
    // 12 dB less are about 9 dB less to make up at 4:1: all but troughs is above the threshold.
    expect(Math.abs(loud - soft - 9)).toBeLessThan(1);
    expect(over(0, 8 * 48000)).toBeLessThan(loud);
  });

  test('is set for one compressor after the other, each by what reaches it', () => {
    const press = { processor: 'compressor', settings: { threshold: -40, ratio: 4 } };
    const chain = items(press, { ...press, on: false }, { processor: 'gain', settings: { gain: -6 } }, press);
    const matched = matchedChain(noise, chain, null, SONG, loudness);
    expect(matched.makeUpDb.map((value) => value === null)).toEqual([false, true, true, false]);
    const output = renderChain(noise, stepsOf(matched.chain, 120, [4, 4]), null);
    expect(Math.abs(loudness(output)! - loudness(noise)! + 6)).toBeLessThan(0.03);
    expect(matched.chain[1]).toBe(chain[1]);
  });

  test('does not exist for silence', () => {
    const silence = stereo(new Float32Array(96000));
    expect(matchingMakeUp(silence, itemOf({ threshold: -40, ratio: 4 }), null, SONG, loudness)).toBe(null);
  });
});
