import { describe, expect, it } from 'vitest';
import type { Settings } from '../../src/dsp/core/parameter.ts';
import { stepOf } from '../helpers/chains.ts';
import { motionOf } from '../helpers/moving-delay.ts';

const voice = (settings: Settings) => [stepOf('chorus', { mix: 100, voices: '1', spread: 0, ...settings })];

describe('pitch of a delay that swings (Doppler: 1200 log2(1 +- 2 pi rate depth) at the ends; e.g. Dattorro 1997, part 2)', () => {
  // Columns: rate Hz, depth ms, cents sharp, cents flat.
  it.each([
    [0.6, 1.5, 9.7623, -9.8177],
    [1, 1, 10.8436, -10.912],
    [2, 2, 42.9729, -44.0668],
    [5, 0.5, 26.9828, -27.41],
    [8, 5, 388.1512, -501.1118],
  ])('%f Hz and %f ms: %f to %f cents', (rate, depth, sharp, flat) => {
    // Whole swings, and pitch taken over a part of a swing so small that its mean is its peak within 0.1 %.
    const { cents } = motionOf(voice({ rate, depth, delay: 10 }), {
      frames: 4800 + Math.ceil((1.1 * 48000) / rate),
      span: rate < 4 ? 240 : 48,
    });
    expect(Math.abs(Math.max(...cents) - sharp)).toBeLessThan(0.02 + 0.001 * sharp);
    expect(Math.abs(Math.min(...cents) - flat)).toBeLessThan(0.02 + 0.001 * -flat);
  });
});
