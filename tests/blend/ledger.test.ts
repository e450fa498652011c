import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { ledgerBasisOf, ledgerOf, mixFiguresOf, type LedgerInput } from '../../src/blend/ledger.ts';
import { pairCount, pairIndex } from '../../src/blend/pairs.ts';
import type { Audio } from '../../src/dsp/audio.ts';
import type { Figures } from '../../src/measure/figures.ts';
import { measure } from '../../src/measure/measure.ts';
import { added, pinkNoise, scaled, sine, stereo, whiteNoise } from '../helpers/signals.ts';

const SECONDS = 5.0125;
const FRAMES = 240_600;
const pink = pinkNoise(SECONDS, 1, 0.08).slice(0, FRAMES);
const other = pinkNoise(SECONDS, 2, 0.08).slice(0, FRAMES);
const bright = whiteNoise(SECONDS, 3, 0.02);
const tone = sine({ hz: 180, seconds: SECONDS, db: -20 });
/** Loud at first, faint later, so that the gates have something to do. */
const swelling = pink.map((x, n) => x * (n < pink.length / 2 ? 1 : 0.02));

const input = (id: string, audio: Audio, doubles: string[] = []): LedgerInput => ({ id, audio, doubles });
const inputs = [
  input('band', stereo(pink, added(scaled(pink, 0.6), scaled(other, 0.5)))),
  input('bass', stereo(tone)),
  input('air', stereo(bright, scaled(bright, -0.7)), ['band']),
  input('swell', stereo(swelling, other), ['band', 'bass']),
];
const basis = ledgerBasisOf(inputs);

const summed = (gains: readonly number[]): Audio => {
  const channel = (n: number): Float32Array =>
    Float32Array.from(pink, (_, frame) =>
      inputs.reduce((sum, { audio }, i) => sum + gains[i]! * audio.channels[n]![frame]!, 0),
    );
  return stereo(channel(0), channel(1));
};

/** All numbers of some figures by name. */
const flat = ({ bands, stereo: width, ...rest }: Figures): Record<string, number | null> => ({
  ...rest,
  ...width,
  ...Object.fromEntries(
    bands.flatMap(({ hz, levelDb, sideToMidDb }) => [
      [`${hz} level`, levelDb],
      [`${hz} side`, sideToMidDb],
    ]),
  ),
});

/** The measured sum has single-precision samples, the quadratic form has not: this much of whole-band figures, dB and LU. */
const ROUNDING = 1e-6;
/** A third octave may hold a ten-thousandth of the energy, so the same rounding is larger beside it. */
const BAND_ROUNDING = 1e-5;

const expectSame = (found: Figures, measured: Figures): void => {
  const reference = flat(measured);
  for (const [name, value] of Object.entries(flat(found))) {
    const expected = reference[name];
    if (value === null || expected === null || expected === undefined) expect([name, value]).toEqual([name, expected]);
    else
      expect(Math.abs(value - expected), `${name}: ${value} for ${expected}`).toBeLessThan(
        /^\d/.test(name) ? BAND_ROUNDING : ROUNDING,
      );
  }
};

describe('pairs', () => {
  it('count every pair once, in either order', () => {
    const seen = new Set<number>();
    for (let i = 0; i < 5; i++) for (let j = i; j < 5; j++) seen.add(pairIndex(i, j, 5));
    expect([...seen].sort((a, b) => a - b)).toEqual(Array.from({ length: pairCount(5) }, (_, n) => n));
    expect(pairIndex(3, 1, 5)).toBe(pairIndex(1, 3, 5));
  });
});

describe('a blend without rendering', () => {
  it('measures as the summed paths do, for any gains, polarities and mutes', () => {
    const gain = fc.oneof(
      fc.constant(0),
      fc.double({ min: -2, max: 2, noNaN: true }).filter((g) => Math.abs(g) > 0.01),
    );
    fc.assert(
      fc.property(fc.array(gain, { minLength: inputs.length, maxLength: inputs.length }), (gains) => {
        const measured = measure(summed(gains));
        expectSame(mixFiguresOf(basis, gains), measured);
      }),
      { numRuns: 25 },
    );
  });

  it('of nothing is silence, with the same figures missing as when it is measured', () => {
    const silent = mixFiguresOf(basis, [0, 0, 0, 0]);
    expect(silent.integratedLufs).toBeNull();
    expect(silent.truePeakDbtp).toBeNull();
    expect(silent.stereo).toEqual({ correlation: null, sideToMidDb: null, balanceDb: null, monoLossLu: null });
  });
});

describe('the ledger', () => {
  it('gives shares that add up to one', () => {
    const { paths } = ledgerOf(basis, [1, 0.7, 0.5, 1.2]);
    expect(paths.reduce((sum, { shareOfLoudness }) => sum + shareOfLoudness!, 0)).toBeCloseTo(1, 12);
  });

  it('splits two uncorrelated paths by their energy, and a doubled one in halves', () => {
    const strangers = ledgerBasisOf([input('a', stereo(pink)), input('b', stereo(scaled(other, 0.5)))]);
    const [a, b] = ledgerOf(strangers, [1, 1]).paths;
    expect(a!.shareOfLoudness! / b!.shareOfLoudness!).toBeCloseTo(4, 0);
    const twins = ledgerBasisOf([input('a', stereo(pink)), input('b', stereo(pink))]);
    expect(ledgerOf(twins, [1, 1]).paths.map(({ shareOfLoudness }) => shareOfLoudness)).toEqual([0.5, 0.5]);
    // A copy of equal level raises the mix by 20 log10 2.
    expect(ledgerOf(twins, [1, 1]).paths[1]!.change.integratedLufs).toBeCloseTo(6.0206, 4);
  });

  it('shows what each path changes: with it, less without it', () => {
    const gains = [1, 0.7, 0.5, 1.2];
    const { mix, paths } = ledgerOf(basis, gains);
    const without = measure(summed(gains.with(2, 0)));
    expectSame(paths[2]!.without, without);
    expect(paths[2]!.change.integratedLufs).toBeCloseTo(mix.integratedLufs! - without.integratedLufs!, 6);
  });

  it('a path that is shut changes nothing', () => {
    const [, bass] = ledgerOf(basis, [1, 0, 1, 1]).paths;
    expect(bass!.change.integratedLufs).toBe(0);
    expect(bass!.shareOfLoudness).toBe(0);
    expect(bass!.sentence).toBe('Gives nothing to the mix as it stands.');
  });

  it('sees a late or upside-down double, and the hole that it makes', () => {
    const late = pink.map((_, n) => -0.9 * (pink[n - 24] ?? 0));
    const comb = ledgerBasisOf([input('dry', stereo(pink)), input('late', stereo(late), ['dry'])]);
    const [dry, double] = ledgerOf(comb, [1, 1]).paths;
    expect(dry!.alignment.lagSamples).toBeNull();
    expect(double!.alignment).toMatchObject({ lagSamples: 24, polarity: -1 });
    expect(double!.alignment.cancelsDb).toBeLessThan(-6);
    expect(double!.sentence).toMatch(/cancels \d+\.\d dB around/);
  });
});
