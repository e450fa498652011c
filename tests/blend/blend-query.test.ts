import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { BandKeeper } from '../../src/blend/gram/band-keeper.ts';
import { SpectraShelf } from '../../src/blend/gram/spectra-shelf.ts';
import {
  buildOnceSteps,
  buildSteps,
  GramQuery,
  makeBlendQuery,
  renewedTimeSteps,
  withPath,
  type QueryPath,
  type TimeProducts,
} from '../../src/blend/gram/make-blend-query.ts';
import { pairCount, pairIndex } from '../../src/blend/gram/pairs.ts';
import { finished } from '../../src/audio/steps.ts';
import type { Audio } from '../../src/audio/audio.ts';
import type { Figures } from '../../src/measure/figures.ts';
import { measure, measureFully } from '../../src/measure/measure.ts';
import { truePeakOf } from '../../src/measure/peaks/true-peak.ts';
import { expectSameFigures, summedPaths } from '../helpers/blends.ts';
import { added, pinkNoise, scaled, sine, stereo, whiteNoise } from '../helpers/signals.ts';
import { casesOf } from '../helpers/soak.ts';

const RATE = 48_000;
const SECONDS = 5.0125;
const FRAMES = Math.round(SECONDS * RATE);

const fitted = (samples: Float32Array): Float32Array => samples.slice(0, FRAMES);
const pink = fitted(pinkNoise(SECONDS + 0.1, 1, 0.08));
const other = fitted(pinkNoise(SECONDS + 0.1, 2, 0.08));
const bright = fitted(whiteNoise(SECONDS + 0.1, 3, 0.02));
const tone = fitted(sine({ hz: 180, seconds: SECONDS + 0.1, db: -20 }));
/** Loud at first, faint later, so that the gates have something to do. */
const swelling = pink.map((x, n) => x * (n < FRAMES / 2 ? 1 : 0.02));
const beats = other.map((x, n) => x * 4 * Math.exp((-14 * (n % 19_200)) / RATE));

const path = (id: string, left: Float32Array, right = left): QueryPath<Audio> => ({ id, audio: stereo(left, right) });
const paths = [
  path('band', pink, added(scaled(pink, 0.6), scaled(other, 0.5))),
  path('bass', tone),
  path('air', bright, scaled(bright, -0.7)),
  path('swell', swelling, other),
  path('beats', beats, scaled(beats, 0.4)),
];
const sounds = paths.map(({ audio }) => audio);
const query = makeBlendQuery(paths);

const cut = ({ sampleRate, channels }: Audio, from: number, to: number): Audio => ({
  sampleRate,
  channels: channels.map((channel) => channel.subarray(from, to)),
});

/**
 * Blends with mutes and polarities. Gains of two paths never meet within 0.005: what is left of paths that cancel by 90 dB
 * and more is the rounding of spectra in single precision.
 */
const blend = fc.tuple(
  ...paths.map((_, place) =>
    fc.oneof(
      fc.constant(0),
      fc.integer({ min: -40, max: 40 }).map((step) => step / 20 + 0.003 * (place + 1)),
    ),
  ),
);

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
    fc.assert(
      fc.property(blend, (gains) => {
        expectSameFigures(query.allFigures(gains), measure(summedPaths(sounds, gains)));
      }),
      { numRuns: casesOf(5, 24) },
    );
  });

  it('over a section measures as the sound cut there and summed', () => {
    const bounds = fc
      .tuple(fc.integer({ min: 0, max: FRAMES - 1 }), fc.integer({ min: 0, max: FRAMES }))
      // In less than 10 ms the rounding of single samples does not average out.
      .filter(([from, to]) => to - from >= 480);
    fc.assert(
      fc.property(bounds, blend, ([from, to], gains) => {
        const section = makeBlendQuery(paths, { fromFrame: from, toFrame: to });
        const whole = summedPaths(sounds, gains);
        expectSameFigures(section.allFigures(gains), measure(cut(whole, from, to)));
      }),
      { numRuns: casesOf(5, 24) },
    );
  });

  it.each([8_000, 11_025, 22_050, 44_100])('at %i Hz, where 10 ms need not be whole samples', (sampleRate) => {
    const resounded = paths.map(({ id, audio }) => ({ id, audio: { ...audio, sampleRate } }));
    const gains = [1, 0.5, -0.7, 0.4, 1.1];
    const summed = { ...summedPaths(sounds, gains), sampleRate };
    expectSameFigures(makeBlendQuery(resounded).allFigures(gains), measure(summed));
  });

  it('finds the true peak to the last bit, and the clipped runs', () => {
    fc.assert(
      fc.property(blend, fc.double({ min: 0.1, max: 4, noNaN: true }), (gains, louder) => {
        const hot = gains.map((each) => each * louder);
        const summed = summedPaths(sounds, hot);
        const peak = truePeakOf(summed.channels).value;
        const found = query.truePeakDbtp(hot);
        expect(found === null ? 0 : 10 ** (found / 20)).toBeCloseTo(peak, 12);
        expect(query.allFigures(hot).clippedSamples).toBe(measure(summed).clippedSamples);
      }),
      { numRuns: casesOf(10, 50) },
    );
  });

  it('knows the correlation of the lows', () => {
    const gains = [1, 0.5, -0.7, 0.4, 1.1];
    const { details } = measureFully(summedPaths(sounds, gains));
    expect(query.lowsCorrelation(gains)).toBeCloseTo(details.lowsCorrelation!, 7);
  });

  it('of nothing is silence, and so is a path against itself inverted', () => {
    const twins = makeBlendQuery([path('a', pink, other), path('b', pink, other)]);
    for (const silent of [query.allFigures([0, 0, 0, 0, 0]), twins.allFigures([0.7, -0.7])]) {
      const { bands, ...rest }: Figures = silent;
      expect(rest).toEqual({
        integratedLufs: null,
        loudnessRangeLu: null,
        maxMomentaryLufs: null,
        maxShortTermLufs: null,
        truePeakDbtp: null,
        samplePeakDbfs: null,
        rmsDbfs: null,
        crestDb: null,
        plrDb: null,
        dcOffset: 0,
        clippedSamples: 0,
        stereo: { correlation: null, sideToMidDb: null, balanceDb: null, monoLossLu: null },
      });
      expect(bands.every(({ levelDb }) => levelDb === null)).toBe(true);
    }
  });

  it('decides on either side of the edge of a gate as measuring does', () => {
    // The fainter of two steady parts is raised past the relative gate. On the very edge the last digits would decide,
    // and a summed mix and its quadratic form differ there; a tenth of a decibel to either side they must not.
    const half = FRAMES / 2;
    const loud = tone.map((x, n) => (n < half ? x : 0));
    const faint = tone.map((x, n) => (n < half ? 0 : x));
    const edge = makeBlendQuery([path('loud', loud), path('faint', faint)]);
    const levels = Array.from({ length: 41 }, (_, n) => -13 + 0.1 * n);
    const jumps = levels.map((db) => {
      const gains = [1, 10 ** (db / 20)];
      expectSameFigures(edge.allFigures(gains), measure(summedPaths([stereo(loud), stereo(faint)], gains)));
      return edge.figures(gains).integratedLufs!;
    });
    // The gate does open somewhere on the way: the reading falls there by more than a decibel.
    expect(Math.max(...jumps.slice(1).map((value, n) => jumps[n]! - value))).toBeGreaterThan(1);
  });
});

/** The first frames of both channels. */
const both = ({ channels }: Audio, frames: number): [Float32Array, Float32Array] => [
  channels[0]!.slice(0, frames),
  channels[1]!.slice(0, frames),
];

describe('a path that changes', () => {
  it('has its row computed again and gives what a new query gives, and the old query stays as it was', () => {
    const gains = [1, 0.5, -0.7, 0.4, 1.1];
    const before = query.allFigures(gains);
    for (const index of [0, 2, 4]) {
      const changed = stereo(scaled(swelling, 0.8), added(beats, tone));
      const renewed = withPath(query, index, changed);
      const fresh = makeBlendQuery(paths.with(index, { id: paths[index]!.id, audio: changed }));
      expectSameFigures(renewed.allFigures(gains), fresh.allFigures(gains));
      expect(renewed.shares(gains)).toEqual(fresh.shares(gains).map((share) => expect.closeTo(share!, 12) as number));
    }
    expect(query.allFigures(gains)).toEqual(before);
  });

  it('is the same from two halves that are made apart, whatever stays and whatever changes', () => {
    const gains = [1, 0.5, -0.7, 0.4, 1.1];
    const { time, keeper } = query;
    const one = paths.with(3, { id: paths[3]!.id, audio: stereo(scaled(swelling, 0.3), tone) });
    const most = one.map(({ id, audio }) => ({
      id,
      audio: stereo(scaled(audio.channels[0]!, 0.9), audio.channels[1]),
    }));
    const shorter = paths.slice(1).map(({ id, audio }) => ({ id, audio: stereo(...both(audio, 90_000)) }));
    for (const [now, blend] of [
      [paths, gains],
      [one, gains],
      [most, gains],
      [shorter, gains.slice(1)],
    ] as const) {
      const apart = keeper!.copy();
      const sounds = now.map(({ audio }) => audio);
      // Twice, as what is taken over the first must leave nothing of it behind; what is not run to its end changes nothing.
      finished(apart.bandSteps(sounds.toReversed()));
      apart.bandSteps(paths.map(({ audio }) => audio)).next();
      const renewed = finished(renewedTimeSteps(time, now));
      const joined = new GramQuery(renewed, finished(apart.bandSteps(sounds)), null);
      expectSameFigures(joined.allFigures(blend), makeBlendQuery(now).allFigures(blend));
    }
    expect(finished(renewedTimeSteps(time, paths))).toBe(time);
  });

  it('is the same whatever paths come, go and change places, one list after the other', () => {
    const pool = [...paths, path('silent', new Float32Array(FRAMES)), path('low', scaled(tone, 0.5), beats)].map(
      ({ id, audio }) => ({ id, audio: cut(audio, 0, RATE) }),
    );
    // Two empty buses are one sound.
    pool.push({ ...pool[5]!, id: 'silent too' }, { ...pool[0]!, id: 'one sound with another' });
    const shorter = pool.map(({ id, audio }) => ({ id, audio: cut(audio, 0, RATE - 700) }));
    const list = fc.tuple(
      fc.constantFrom(pool, pool, pool, shorter),
      fc.shuffledSubarray(
        pool.map((_, n) => n),
        { minLength: 1 },
      ),
    );
    fc.assert(
      fc.property(fc.array(list, { minLength: 2, maxLength: 5 }), fc.constantFrom(undefined, 3e6, 0), (lists, room) => {
        // With room for the spectra of all, of some and of none.
        const keeper = new BandKeeper(new SpectraShelf(room));
        let time: TimeProducts | null = null;
        for (const [from, places] of lists) {
          const now = places.map((place) => from[place]!);
          time = finished(renewedTimeSteps(time, now));
          const renewed = new GramQuery(time, finished(keeper.bandSteps(now.map(({ audio }) => audio))), null);
          const gains = places.map((place) => 0.3 + 0.1 * place);
          const fresh = makeBlendQuery(now);
          expectSameFigures(renewed.allFigures(gains), fresh.allFigures(gains));
          renewed.shares(gains).forEach((share, n) => expect(share ?? 0).toBeCloseTo(fresh.shares(gains)[n] ?? 0, 9));
        }
      }),
      { numRuns: casesOf(10, 50) },
    );
  });

  it('must be as long as the others', () => {
    expect(() => withPath(query, 0, stereo(pink.slice(1)))).toThrow(RangeError);
  });
});

describe('building', () => {
  it('goes on in steps that can be shown and stopped', () => {
    const parts: number[] = [];
    const steps = buildSteps(paths);
    for (let next = steps.next(); !next.done; next = steps.next()) parts.push(next.value);
    expect(parts.length).toBeGreaterThan(5);
    expect(parts).toEqual([...parts].sort((a, b) => a - b));
    expect(parts.at(-1)).toBeLessThanOrEqual(1);
  });

  it('without keeping spectra gives the same query, of a stretch too', () => {
    for (const range of [undefined, { fromFrame: 50_000, toFrame: 150_000 }]) {
      const once = finished(buildOnceSteps(paths, range));
      const kept = makeBlendQuery(paths, range);
      expect(once.bands).toEqual(kept.bands);
      expect(once.allFigures([1, 0.5, 2, 1, 1])).toEqual(kept.allFigures([1, 0.5, 2, 1, 1]));
      expect(once.keeper).toBe(null);
    }
  });

  it('refuses gains that do not fit the paths', () => {
    expect(() => query.figures([1])).toThrow(RangeError);
    expect(() => query.figures([1, 1, 1, 1, Number.NaN])).toThrow(RangeError);
  });
});
