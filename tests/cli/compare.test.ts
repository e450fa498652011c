import { expect, test } from 'vitest';
import { gainOf } from '../../src/audio/decibels.ts';
import { resample } from '../../src/audio/resample.ts';
import type { Figures } from '../../src/measure/figures.ts';
import { pinkNoise, scaled, stereo } from '../helpers/signals.ts';
import { run, runJson, Workplace } from './command.ts';
import { sampleOf } from '../helpers/soak.ts';

interface CompareAnswer {
  readonly lagSamples: number | null;
  readonly gainDb: number | null;
  readonly polarity: number;
  readonly residualDb: number | null;
  readonly arrangement: string | null;
  readonly arrangedResidualDb: number | null;
  readonly sides:
    | readonly ({ readonly from: string; readonly exactLagSamples: number; readonly gainDb: number } | null)[]
    | null;
  readonly sidesResidualDb: number | null;
  readonly matchGainDb: number | null;
  readonly seconds: number;
  readonly a: Figures;
  readonly b: Figures;
  readonly change: Figures;
  readonly notes: readonly string[];
}

const place = new Workplace();
const [left, right] = [pinkNoise(2.7, 1, 0.05), pinkNoise(2.7, 2, 0.05)];
const sound = stereo(
  left.map((x, n) => x + 0.6 * right[n]!),
  right.map((x, n) => x + 0.6 * left[n]!),
);
place.writeAudio('a.wav', sound);

/** The sound `lag` samples late (early below 0), at a level, dB, and in a polarity. */
const moved = (lag: number, db: number, polarity: 1 | -1): ReturnType<typeof stereo> => {
  const shift = (channel: Float32Array): Float32Array =>
    Float32Array.from({ length: channel.length }, (_, n) => polarity * gainOf(db) * (channel[n - lag] ?? 0));
  return stereo(shift(sound.channels[0]!), shift(sound.channels[1]!));
};

const compare = async (a: string, b: string): Promise<CompareAnswer> =>
  (await runJson('compare', place.path(a), place.path(b))) as CompareAnswer;

test.each(
  sampleOf(
    [
      [0, -6, 1],
      [37, -3, 1],
      [-250, 2, -1],
      [30_000, -4, 1],
      [-61_234, 0, -1],
    ] as const,
    3,
  ),
)(
  'a copy %i samples late at %f dB with polarity %i is found, and nothing else is said to change',
  async (lag, db, polarity) => {
    place.writeAudio('b.wav', moved(lag, db, polarity));
    const answer = await compare('a.wav', 'b.wav');
    expect([answer.lagSamples, answer.polarity]).toEqual([lag, polarity]);
    expect(answer.gainDb).toBeCloseTo(db, 2);
    expect(answer.matchGainDb).toBeCloseTo(-db, 3);
    expect(answer.residualDb).toBeLessThan(-50);
    expect(answer.change.integratedLufs).toBeCloseTo(0, 9);
    expect(answer.change.crestDb).toBeCloseTo(0, 2);
    expect(answer.change.stereo.correlation).toBeCloseTo(0, 3);
    expect(answer.change.bands[12]!.levelDb).toBeCloseTo(0, 2);
  },
);

const [l, r] = sound.channels as [Float32Array, Float32Array];
const inverted = (channel: Float32Array): Float32Array => scaled(channel, -1);
const late = (channel: Float32Array): Float32Array => channel.map((_, n) => channel[n - 300] ?? 0);
const fold = l.map((x, n) => (x + r[n]!) / 2);

test.each(
  sampleOf(
    [
      ['swapped', r, l],
      ['folded to mono', fold, fold],
      ['left on both sides', l, l],
      ['right only', new Float32Array(r.length), r],
      ['right inverted', l, inverted(r)],
      ['left inverted', inverted(l), r],
      ['swapped, left inverted', inverted(r), l],
    ],
    3,
  ),
)('both sides count: a sound that is %s is not called equal, and is named', async (name, left, right) => {
  place.writeAudio('arranged.wav', stereo(late(left), late(right)));
  const answer = await compare('a.wav', 'arranged.wav');
  expect([answer.arrangement, answer.lagSamples, answer.polarity]).toEqual([name, 300, 1]);
  // The sides share 0.88 of themselves; nothing that differs in one of them comes near -20 dB.
  expect(answer.residualDb).toBeGreaterThan(-20);
  // A copy late by whole samples leaves nothing but the rounding of 32 bit floats, 144 dB down, and of the transform.
  expect(answer.arrangedResidualDb).toBeLessThan(-100);
  expect(answer.sides).toBeNull();
  expect(answer.gainDb).toBeCloseTo(0, 2);
});

const lateBy = (channel: Float32Array, lag: number): Float32Array => channel.map((_, n) => channel[n - lag] ?? 0);

test.each(
  sampleOf(
    [
      [
        'the right 10 samples late',
        l,
        lateBy(r, 10),
        'same',
        ['left', 0, 0],
        ['right', 10, 0],
        'The right of B is 10.00 samples (0.21 ms) later than its left.',
      ],
      [
        'the left late and both so',
        lateBy(l, 340),
        lateBy(r, 300),
        'same',
        ['left', 340, 0],
        ['right', 300, 0],
        'The left of B is 40.00 samples (0.83 ms) later than its right.',
      ],
      [
        'the right 3 dB softer',
        l,
        scaled(r, gainOf(-3)),
        'same',
        ['left', 0, 0],
        ['right', 0, -3],
        'The right of B is 3.00 dB softer than its left, against A.',
      ],
      [
        'swapped, one late and softer',
        r,
        scaled(lateBy(l, 10), gainOf(-3)),
        'swapped',
        ['right', 0, 0],
        ['left', 10, -3],
        'The right of B is 10.00 samples (0.21 ms) later than its left. The right of B is 3.00 dB softer',
      ],
    ] as const,
    2,
  ),
)('%s is named, with figures by side', async (_, left, right, arrangement, one, other, words) => {
  place.writeAudio('sides.wav', stereo(left, right));
  const answer = await compare('a.wav', 'sides.wav');
  expect(answer.arrangement).toBe(arrangement);
  expect(answer.sides?.map((side) => side?.from)).toEqual([one[0], other[0]]);
  answer.sides!.forEach((side, n) => {
    const [, lag, gain] = n === 0 ? one : other;
    expect(side!.exactLagSamples).toBeCloseTo(lag, 2);
    expect(side!.gainDb).toBeCloseTo(gain, 2);
  });
  expect(answer.sidesResidualDb).toBeLessThan(-60);
  expect((await run('compare', place.path('a.wav'), place.path('sides.wav'))).out).toContain(words);
});

test('a side that differs alone is what is left, with no name for it; equal sides are the same', async () => {
  place.writeAudio(
    'wide.wav',
    stereo(
      l.map((x, n) => x + 0.5 * (x - r[n]!)),
      r,
    ),
  );
  const wide = await compare('a.wav', 'wide.wav');
  expect(wide.arrangement).toBe('same');
  expect(wide.residualDb).toBeGreaterThan(-25);
  place.writeAudio('mono-a.wav', stereo(l, l));
  place.writeAudio('mono-b.wav', stereo(inverted(l), inverted(l)));
  const mono = await compare('mono-a.wav', 'mono-b.wav');
  expect([mono.arrangement, mono.polarity]).toEqual(['same', -1]);
  expect(mono.residualDb).toBeLessThan(-60);
});

test('what the best match leaves is told as lying below the second sound', async () => {
  // Noise of its own, 20 dB below what is shared, is what no delay or gain takes away.
  const own = [pinkNoise(2.7, 21, 0.005), pinkNoise(2.7, 22, 0.005)];
  const [noisyLeft, noisyRight] = sound.channels.map((channel, c) => channel.map((x, n) => x + own[c]![n]!));
  place.writeAudio('noisy.wav', stereo(noisyLeft!, noisyRight));
  const { residualDb } = await compare('a.wav', 'noisy.wav');
  const { out } = await run('compare', place.path('a.wav'), place.path('noisy.wav'));
  expect(residualDb).toBeLessThan(-15);
  expect(out).toContain(`Residual (B less A so delayed and scaled): ${(-residualDb!).toFixed(1)} dB below B.`);
});

test('rates and channels that differ are brought together, and that is said', async () => {
  place.writeAudio('slow.wav', resample(sound, 44_100));
  const slow = await compare('a.wav', 'slow.wav');
  expect([slow.lagSamples, slow.polarity]).toEqual([0, 1]);
  expect(slow.matchGainDb).toBeCloseTo(0, 2);
  expect(slow.notes[0]).toContain('was converted to 48000 Hz');
  place.writeAudio('mono.wav', { sampleRate: 48_000, channels: [scaled(sound.channels[0]!, 1)] });
  const mono = await compare('a.wav', 'mono.wav');
  expect(mono.notes[0]).toContain('one channel');
  expect(mono.b.stereo.correlation).toBe(1);
});

test('two sounds that share nothing are compared from their beginnings, over the shorter', async () => {
  place.writeAudio(
    'other.wav',
    stereo(pinkNoise(2, 11, 0.05).subarray(0, 100_000), pinkNoise(2, 12, 0.05).subarray(0, 100_000)),
  );
  const answer = await compare('a.wav', 'other.wav');
  expect([answer.lagSamples, answer.gainDb]).toEqual([null, null]);
  expect(answer.seconds).toBeCloseTo(100_000 / 48_000, 9);
  const { out, code } = await run('compare', place.path('a.wav'), place.path('other.wav'));
  expect(code).toBe(0);
  expect(out).toContain('have too little in common to align');
});

test('silence has no loudness to match, and what is no stereo is refused', async () => {
  place.writeAudio('silent.wav', stereo(new Float32Array(96_000)));
  const silent = await compare('a.wav', 'silent.wav');
  expect([silent.matchGainDb, silent.lagSamples, silent.b.integratedLufs]).toEqual([null, null, null]);
  place.writeAudio('surround.wav', { sampleRate: 48_000, channels: Array.from({ length: 6 }, () => left) });
  const { code, err } = await run('compare', place.path('a.wav'), place.path('surround.wav'));
  expect([code, err]).toEqual([
    2,
    `${place.path('surround.wav')} does not fit: expected one or two channels to compare, found 6.\n`,
  ]);
});
