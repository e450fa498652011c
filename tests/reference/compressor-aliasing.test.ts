import { describe, expect, test } from 'vitest';
import { decibelsOf } from '../../src/audio/decibels.ts';
import { Chain } from '../../src/dsp/core/chain.ts';
import type { Settings } from '../../src/dsp/core/parameter.ts';
import { stepOf, through, tone } from '../helpers/chains.ts';
import { falseTonesDb, sineSpectrum } from '../helpers/harmonics.ts';

// What a sampled gain does must be what one that runs in continuous time does: only harmonics of a steady sine. All else
// from 40 Hz to 20 kHz is false. The limit is our own demand, as no standard states one.

const LIMIT_DB = -80;
/** 14 dB above the threshold, bare peaks. */
const squeeze: Settings = { threshold: -20, ratio: 4, detector: 'peak' };
const peak = 0.5;

describe('false tones of a gain that follows single waves', () => {
  test.each([
    ['4x', 0.01, 5, 1000],
    ['4x', 0.01, 5, 4100],
    ['4x', 0.01, 5, 9973],
    ['8x', 0.01, 5, 9973],
    ['4x', 0.1, 50, 9973],
    ['4x', 3, 5, 9973],
  ] as const)('at %s, attack %d ms, release %d ms, %d Hz are below the limit', (oversampling, attack, release, hz) => {
    const settings = { ...squeeze, attack, release };
    expect(falseTonesDb('compressor', { ...settings, oversampling }, hz, peak)).toBeLessThan(LIMIT_DB);
    // Without oversampling the helper finds them, so that what is not found is not there.
    expect(falseTonesDb('compressor', { ...settings, oversampling: 'off' }, hz, peak)).toBeGreaterThan(
      falseTonesDb('compressor', { ...settings, oversampling }, hz, peak) + 15,
    );
  });

  test('where nothing is said of oversampling, fast settings have it and the others need none', () => {
    const fast = { ...squeeze, attack: 0.01, release: 5 };
    expect(falseTonesDb('compressor', fast, 9973, peak)).toBeLessThan(LIMIT_DB);
    expect(latencyOf(fast)).toBe(latencyOf({ ...fast, oversampling: '4x' }));
    // The fastest that auto leaves as they are: what folds back lies 65 dB below the sound.
    const slower = { ...squeeze, attack: 1, release: 20 };
    expect(latencyOf(slower)).toBe(0);
    for (const hz of [997, 4100, 9973]) expect(falseTonesDb('compressor', slower, hz, peak)).toBeLessThan(-65);
    expect(latencyOf({ ...fast, detector: 'decoupled peak' })).toBe(0);
  });

  test.each([0.01, 0.1, 3])('the decoupled detector needs no oversampling at an attack of %d ms', (attack) => {
    for (const hz of [1000, 9973]) {
      const settings = { ...squeeze, detector: 'decoupled peak', attack, release: 5 };
      expect(falseTonesDb('compressor', settings, hz, peak)).toBeLessThan(LIMIT_DB);
    }
  });
});

describe('oversampled, it turns down as it does at the plain rate', () => {
  // At 1 kHz a wave has 48 samples: the plain rate meets its crests within 0.02 dB, (1 - cos(pi / 48)) of the peak.
  test.each(['peak', 'rms', 'smooth peak', 'decoupled peak'])('by %s', (detector) => {
    for (const [attack, release] of [
      [0.1, 50],
      [10, 120],
    ] as const) {
      const levelAt = (oversampling: string): number => {
        const settings = { ...squeeze, detector, attack, release, oversampling };
        const { amplitudes, cycles } = sineSpectrum('compressor', settings, 1000, peak);
        return decibelsOf(amplitudes[cycles]!);
      };
      const plain = levelAt('off');
      // Between samples the reduction is followed in finer steps: 0.05 dB is the step of the plain rate over a crest.
      expect(Math.abs(levelAt('4x') - plain)).toBeLessThan(0.05);
      expect(Math.abs(levelAt('8x') - plain)).toBeLessThan(0.05);
    }
  });

  test('with a look-ahead, a make-up and a key, aligned', () => {
    const input = tone(1000, 24000, peak);
    const key = tone(3000, 24000, 0.9);
    const settings = { ...squeeze, lookAhead: 3, makeUp: 6, listen: 'key', detector: 'rms', attack: 5 };
    const played = (oversampling: string) => {
      const step = stepOf('compressor', { ...settings, oversampling });
      return through([step], input, 48000, key).left;
    };
    const plain = played('off');
    const raised = played('4x');
    const late = latencyOf({ ...settings, oversampling: '4x' }) - latencyOf({ ...settings, oversampling: 'off' });
    expect(late).toBeGreaterThan(0);
    // The first millisecond is that of a tone that begins at once, which has highs that filters round.
    let worst = 0;
    for (let n = 2400; n < 24000 - late; n++) worst = Math.max(worst, Math.abs(raised[n + late]! - plain[n]!));
    // The mean square of a sine between samples moves with twice its frequency, sampled or not: 0.1 % of the level.
    expect(worst).toBeLessThan(1e-3 * peak);
  });
});

const latencyOf = (settings: Settings): number => new Chain([stepOf('compressor', settings)], 48000, 128).latency;
