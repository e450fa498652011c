import FFT from 'fft.js';
import { beforeAll, describe, expect, test } from 'vitest';
import type { Audio } from '../../src/audio/audio.ts';
import { resample } from '../../src/audio/resample.ts';
import { finished } from '../../src/audio/steps.ts';
import { explainRough, type RoughExplained } from '../../src/intake/rough/explain-rough.ts';
import { roughSentences } from '../../src/intake/rough/rough-words.ts';
import { SketchBook, type SongSketch } from '../../src/intake/rough/sketch-book.ts';
import { chance, madeTrack, multitrack, NAMES, RATE, type MadeTrack } from './multitrack.ts';
import { casesOf, sampleOf } from '../helpers/soak.ts';
import { belled, clipped, compressed, delayed, shelved, singles, sumOf, type Place, type Stereo } from './rough-of.ts';

// Truth here is arithmetic: roughs are summed from tracks at known gains, and then treated by textbook processing of the
// test's own. Tolerances are the aims of the feature: 0.01 sample, 0.1 dB and 2 % of pan for a plain rough, 0.5 dB and
// 1 dB a third octave for one that was compressed, clipped and equalised, 0.5 dB and 0.5 s for levels that move.
const SECONDS = 24;
const COUNT = 12;

let tracks: MadeTrack[] = [];
/** Their first half: enough for what holds from the first to the last sample. */
let short: MadeTrack[] = [];
let places: Place[] = [];

beforeAll(() => {
  tracks = multitrack(COUNT, SECONDS, 7);
  short = tracks.map(({ name, audio: { sampleRate, channels } }) => ({
    name,
    audio: { sampleRate, channels: channels.map((channel) => channel.subarray(0, (SECONDS / 2) * RATE)) },
  }));
  const next = chance(70);
  places = tracks.map(() => ({ gainDb: -16 + 12 * next(), pan: Math.round(100 * (2 * next() - 1)) / 100 }));
}, 120_000);

/** Sketches of the tracks that most tests take, made once. */
const sketched = new WeakMap<readonly MadeTrack[], SongSketch>();

const sketchesOf = (of: readonly MadeTrack[]): SongSketch => {
  const known = sketched.get(of);
  if (known) return known;
  const book = new SketchBook(RATE);
  for (const { audio } of of) book.add(audio, 0);
  const song = book.finish();
  sketched.set(of, song);
  return song;
};

const explained = (sound: readonly ArrayLike<number>[], of: readonly MadeTrack[] = tracks): RoughExplained => {
  const channels = sound.map((side) => Float32Array.from(side));
  return finished(explainRough(sketchesOf(of), { sampleRate: RATE, channels }));
};

const differences = ({ tracks: found }: RoughExplained, truth: readonly Place[]): number[] =>
  found.map(({ gainDb }, n) => gainDb! - truth[n]!.gainDb);

const median = (values: readonly number[]): number => values.toSorted((a, b) => a - b)[Math.floor(values.length / 2)]!;

const expectPlaces = (
  answer: RoughExplained,
  truth: readonly Place[],
  within: { gain: number; pan: number; beyond?: number },
): void => {
  const { gain, pan, beyond = 0 } = within;
  differences(answer, truth).forEach((difference, n) => {
    expect(Math.abs(difference - beyond), `${tracks[n]!.name} gain`).toBeLessThan(gain);
    expect(Math.abs(answer.tracks[n]!.pan! - truth[n]!.pan), `${tracks[n]!.name} pan`).toBeLessThan(pan);
  });
};

const mastered = (sound: Stereo): Stereo =>
  compressed(sound, -14, 3, 0.01, 0.15).map((side) =>
    clipped(belled(shelved(side, 6000, 3), 300, -3, 1), 1.5),
  ) as unknown as Stereo;

/** Gain of a linear process at each frequency, dB, from its impulse response. */
const gainsOf = (process: (signal: Float64Array) => Float64Array, hertz: readonly number[]): number[] => {
  const size = 2 ** 15;
  const impulse = new Float64Array(size);
  impulse[0] = 1;
  const data = new Float64Array(2 * size);
  process(impulse).forEach((value, n) => (data[2 * n] = value));
  const out = new Float64Array(2 * size);
  new FFT(size).transform(out, data);
  return hertz.map((hz) => {
    const bin = Math.round((hz * size) / RATE);
    return 20 * Math.log10(Math.hypot(out[2 * bin]!, out[2 * bin + 1]!));
  });
};

describe('a plain rough', () => {
  test('gains, pans, level and nothing left', () => {
    const answer = explained(sumOf(short, places), short);
    expectPlaces(answer, places, { gain: 0.1, pan: 0.02 });
    expect(answer).toMatchObject({ lagSamples: 0, driftPpm: 0, polarity: 1 });
    expect(answer.residualDb).toBeLessThan(-80);
    expect(answer.tracks.every(({ confidence, levels }) => confidence > 0.95 && levels.length === 1)).toBe(true);
    expect(answer.leftover.strangers).toEqual([]);
    expect(answer.movementDb).toBeLessThan(0.1);
    expect(answer.response.every(({ gainDb }) => gainDb === null || Math.abs(gainDb) < 0.1)).toBe(true);
  });

  test.each(sampleOf([1234.37, -0.25, 3, 96_000.5], 1))('later by %d samples, inverted and at another level', (lag) => {
    const mix = sumOf(short, places).map((side) => side.map((value) => -0.5 * value));
    const shifted = mix.map((side) => delayed(lag < 0 ? delayed(side, 1 + lag).slice(1) : side, Math.max(0, lag)));
    const answer = explained(shifted, short);
    expect(Math.abs(answer.lagSamples! - lag)).toBeLessThanOrEqual(0.01);
    expect(answer.polarity).toBe(-1);
    expectPlaces(answer, places, { gain: 0.1, pan: 0.02, beyond: 20 * Math.log10(0.5) });
  });

  test('one channel', () => {
    const [left, right] = sumOf(
      short,
      places.map((place) => ({ ...place, pan: 0 })),
    );
    const answer = explained([left.map((value, n) => (value + right[n]!) / 2)], short);
    expectPlaces(
      answer,
      places.map((place) => ({ ...place, pan: 0 })),
      { gain: 0.1, pan: 0.02 },
    );
  });

  test('the mono fold of stereo tracks: as loud as their fold, in the middle', () => {
    const wide = [0, 2].map((n) => ({
      name: `wide ${n}`,
      audio: { sampleRate: RATE, channels: [short[n]!.audio.channels[0]!, short[n + 1]!.audio.channels[0]!] },
    }));
    const gains = [-6, -11.5];
    const fold = Float32Array.from(wide[0]!.audio.channels[0]!, (_, n) =>
      wide.reduce((sum, { audio: { channels } }, t) => {
        return sum + (10 ** (gains[t]! / 20) * (channels[0]![n]! + channels[1]![n]!)) / 2;
      }, 0),
    );
    const answer = explained([fold], wide);
    expect(answer.isMono).toBe(true);
    answer.tracks.forEach(({ gainDb, pan }, t) => {
      // A session plays two channels at this gain on both sides, whose fold is half their sum.
      expect(gainDb).toBeCloseTo(gains[t]!, 1);
      expect(pan).toBe(0);
    });
  });

  test('its gain is that of the rough against the plain sum of the tracks', () => {
    const answer = explained(
      sumOf(
        short,
        places.map(() => ({ gainDb: -7.5, pan: 0 })),
      ),
      short,
    );
    expect(answer.gainDb).toBeCloseTo(-7.5, 2);
  });
});

describe('a rough that went through more', () => {
  test('compressor, soft clip and equaliser: gains beside each other, and the shape of the equaliser', () => {
    const answer = explained(mastered(sumOf(tracks, places)).map((side) => delayed(side, 411.37)));
    // The level that is common to all is the bus's own: the one that fits them best is taken off.
    const beyond = differences(answer, places).reduce((sum, each) => sum + each / COUNT, 0);
    const sure = answer.tracks.map(({ confidence }) => confidence > 0.5);
    expect(sure.filter(Boolean).length).toBe(COUNT);
    // Clipping takes more from the louder side, and so does move what stands there.
    expectPlaces(answer, places, { gain: 0.5, pan: 0.06, beyond });
    const truth = gainsOf(
      (signal) => belled(shelved(signal, 6000, 3), 300, -3, 1),
      answer.response.map(({ hz }) => hz),
    );
    const middle = median(truth);
    answer.response.forEach(({ gainDb, hz }, n) => {
      if (gainDb !== null) expect(Math.abs(gainDb - (truth[n]! - middle)), `${hz.toFixed(0)} Hz`).toBeLessThan(1);
    });
    expect(Math.abs(answer.lagSamples! - 411.37)).toBeLessThanOrEqual(0.01);
    expect(answer.lagError).toBeLessThan(0.02);
    expect(answer.movementDb).toBeGreaterThan(1.5);
    expect(answer.leftDb).toBeLessThan(answer.residualDb - 6);
  });

  const processes: [string, (sound: Stereo) => Stereo][] = [
    ['compressed, clipped and equalised', mastered],
    ['plain', (sound) => sound],
  ];
  test.each(processes.slice(0, casesOf(1, 2)))(
    'levels that move by section are found in a rough that is %s',
    (_, process) => {
      const vocal = tracks.findIndex(({ name }) => name === 'Lead Vox');
      const bass = tracks.findIndex(({ name }) => name === 'Bass');
      const moved = places.map((place, n) => {
        if (n === vocal) return { ...place, ride: (t: number) => (t > 8.1 && t < 15.3 ? 3 : 0) };
        return n === bass ? { ...place, ride: (t: number) => (t > 17 ? -2 : 0) } : place;
      });
      const answer = explained(process(sumOf(tracks, moved)));
      const beyond = median(differences(answer, places));
      const course = (track: number): number[][] =>
        answer.tracks[track]!.levels.map(({ startSeconds, gainDb }) => [
          startSeconds,
          gainDb - places[track]!.gainDb - beyond,
        ]);
      const near = (found: number[][], wanted: number[][]): void => {
        expect(found.length).toBe(wanted.length);
        wanted.forEach(([seconds, level], n) => {
          expect(Math.abs(found[n]![0]! - seconds!)).toBeLessThan(0.5);
          expect(Math.abs(found[n]![1]! - level!)).toBeLessThan(0.5);
        });
      };
      near(course(vocal), [
        [0, 0],
        [8.1, 3],
        [15.3, 0],
      ]);
      near(course(bass), [
        [0, 0],
        [17, -2],
      ]);
      const others = answer.tracks.filter((__, n) => n !== vocal && n !== bass);
      expect(others.every(({ levels }) => levels.length === 1)).toBe(true);
    },
  );

  // Songs in which rides were missed while cells that show a move were left out of the fit as unexplained.
  test.each([2, 7])('a ride in a plain rough of song %d', (seed) => {
    const played = ['Kick', 'Hi-hat', 'Bass', 'Organ', 'Synth', 'Piano', 'Lead Vox'];
    const next = chance(seed);
    const song = played.map((name) => madeTrack(NAMES.indexOf(name), 14, seed + 60));
    const moved = 3 + Math.floor(3 * next());
    const truth: Place[] = song.map((_, n) => ({
      gainDb: -16 + 12 * next(),
      pan: 0,
      ...(n === moved ? { ride: (t: number) => (t > 5 && t < 10 ? 2.5 : 0) } : {}),
    }));
    const { tracks: found } = explained(sumOf(song, truth), song);
    expect(found.map(({ levels }) => levels.length)).toEqual(played.map((_, n) => (n === moved ? 3 : 1)));
    found[moved]!.levels.forEach(({ startSeconds, gainDb }, n) => {
      expect(Math.abs(startSeconds - [0, 5, 10][n]!)).toBeLessThan(0.5);
      expect(Math.abs(gainDb - truth[moved]!.gainDb - [0, 2.5, 0][n]!)).toBeLessThan(0.1);
    });
  });

  test('an echo of one track that only the rough has: no level moves, and whose it is', () => {
    const strings = tracks.findIndex(({ name }) => name === 'Strings');
    const [dry] = short[strings]!.audio.channels as [Float32Array];
    const mix = sumOf(short, places);
    const gain = 0.25 * 10 ** (places[strings]!.gainDb / 20);
    // Four combs, as in a reverb by Schroeder (1962).
    mix.forEach((side, c) => {
      for (const period of [3114, 3234, 2982, 2844].map((samples) => samples + 23 * c)) {
        const comb = new Float64Array(dry.length);
        for (let n = period; n < dry.length; n++) {
          comb[n] = dry[n - period]! + 0.9 * comb[n - period]!;
          side[n]! += gain * comb[n]!;
        }
      }
    });
    const answer = explained(mix, short);
    expect(answer.tracks.map(({ levels }) => levels.length)).toEqual(short.map(() => 1));
    expect(answer.leftover.owner?.track).toBe(strings);
  });

  test('another clock: the drift in parts of a million', () => {
    const mix = singles(sumOf(tracks, places)).map(
      (channel) => resample({ sampleRate: 48_000, channels: [channel] }, 48_003).channels[0]!,
    );
    const answer = explained(mix);
    expect(answer.driftPpm).toBeCloseTo(62.5, 0);
    expectPlaces(answer, places, { gain: 0.1, pan: 0.02 });
  });

  // Out in the middle, by a bar, near the end, near the beginning; a little put in. (Music that repeats is like itself a bar away.)
  test.each(
    sampleOf(
      [
        [9, 12.5],
        [16, 18],
        [4, 5],
        [20, 21],
        [15, 15.73],
        [12, 11.75],
      ],
      2,
    ),
  )('a cut from %f to %f s: the pieces, to a quarter of a second', (from, to) => {
    const mix = sumOf(tracks, places).map((side) =>
      Float64Array.from([...side.subarray(0, from * RATE), ...side.subarray(Math.round(to * RATE))]),
    );
    const { stretches, leftDb } = explained(mix);
    const wanted = [
      [0, from, 0],
      [Math.max(from, to), 24, from - to],
    ];
    expect(stretches.length).toBe(2);
    stretches.forEach(({ startSeconds, endSeconds, lagSeconds }, n) => {
      expect(Math.abs(startSeconds - wanted[n]![0]!)).toBeLessThan(0.25);
      expect(Math.abs(endSeconds - wanted[n]![1]!)).toBeLessThan(0.25);
      expect(lagSeconds).toBeCloseTo(wanted[n]![2]!, 4);
    });
    expect(leftDb).toBeLessThan(-60);
  });

  test('a rough that is turned about bar by bar is not explained, and no levels are told', () => {
    const bar = 2 * RATE;
    const mix = sumOf(short, places).map((side) => {
      const bars = Array.from({ length: 6 }, (_, n) => side.subarray(n * bar, (n + 1) * bar));
      return Float64Array.from([3, 1, 5, 0, 4, 2].flatMap((n) => [...bars[n]!]));
    });
    const answer = explained(mix, short);
    expect(answer.lagSamples).toBeNull();
    expect(answer.tracks.every(({ gainDb, confidence }) => gainDb === null && confidence === 0)).toBe(true);
    expect(
      roughSentences(
        answer,
        tracks.map(({ name }) => name),
      )[0],
    ).toMatch(/do not explain the rough|shares too little/);
  });
});

describe('what is not as it should be', () => {
  test('tracks that are not in the rough are told, and the others are as before', () => {
    const without = places.map((place, n) => (n === 2 || n === 5 ? { ...place, gainDb: -300 } : place));
    for (const process of [mastered, (sound: Stereo) => sound].slice(0, casesOf(1, 2))) {
      const { tracks: found } = explained(process(sumOf(short, without)), short);
      expect(found.map(({ isInRough }) => isInRough)).toEqual(tracks.map((_, n) => n !== 2 && n !== 5));
      expect(found[2]).toMatchObject({ gainDb: null, pan: null });
    }
  });

  test('a track that the rough holds inverted', () => {
    const turned = short.map((track, n) =>
      n === 6
        ? { ...track, audio: { sampleRate: RATE, channels: track.audio.channels.map((c) => c.map((x) => -x)) } }
        : track,
    );
    const answer = explained(sumOf(turned, places), short);
    expect(answer.tracks.map(({ polarity }) => polarity)).toEqual(tracks.map((_, n) => (n === 6 ? -1 : 1)));
    expectPlaces(answer, places, { gain: 0.1, pan: 0.02 });
  });

  const twins: [string, number][] = [
    ['the same but for noise 40 dB below it', 0.01],
    ['the same', 0],
  ];
  test.each(twins.slice(0, casesOf(1, 2)))('two tracks that are %s are not told apart, but together', (_, noise) => {
    const next = chance(5);
    const [original] = short[8]!.audio.channels as [Float32Array];
    const rms = Math.sqrt(original.reduce((sum, x) => sum + x * x, 0) / original.length);
    const twin = original.map((x) => x + noise * rms * Math.sqrt(12) * (next() - 0.5));
    const all = [...short, { name: 'Twin', audio: { sampleRate: RATE, channels: [twin] } }];
    const both = [...places.map((place, n) => (n === 8 ? { gainDb: -9, pan: 0 } : place)), { gainDb: -12, pan: 0 }];
    const { tracks: found } = explained(sumOf(all, both), all);
    expect([found[8]!.gainDb, found[8]!.confidence, found[8]!.twins]).toEqual([null, 0, [COUNT]]);
    expect([found[COUNT]!.gainDb, found[COUNT]!.twins]).toEqual([null, [8]]);
    const together = 20 * Math.log10(10 ** (-9 / 20) + 10 ** (-12 / 20));
    expect(Math.abs(found[8]!.together!.gainDb - together)).toBeLessThan(0.1);
    found.slice(0, COUNT).forEach(({ gainDb }, n) => {
      if (n !== 8) expect(Math.abs(gainDb! - both[n]!.gainDb)).toBeLessThan(0.1);
    });
  });

  test('sound that is in no track: where, when and how loud', () => {
    const mix = sumOf(tracks, places);
    let [power, count] = [0, 0];
    for (let n = 9 * RATE; n < 16 * RATE; n++, count++) power += mix[0][n]! ** 2 + mix[1][n]! ** 2;
    const peak = Math.sqrt(power / count) * 0.5;
    for (const side of mix)
      for (let n = 9 * RATE; n < 16 * RATE; n++) side[n]! += peak * Math.sin((2 * Math.PI * 2000 * n) / RATE);
    const answer = explained(mix);
    const [stranger, ...more] = answer.leftover.strangers;
    expect(more).toEqual([]);
    expect(Math.abs(stranger!.startSeconds - 9)).toBeLessThan(0.5);
    expect(Math.abs(stranger!.endSeconds - 16)).toBeLessThan(0.5);
    expect(stranger!.hz).toBeCloseTo(1995.3, 0);
    // Two sides of peak^2 / 2 each beside the mix and itself: 10 log(0.25 / 1.25).
    expect(Math.abs(stranger!.levelDb - -6.99)).toBeLessThan(1);
    expectPlaces(answer, places, { gain: 0.1, pan: 0.02 });
  });

  test('a DC offset of a track that the rough has not is no sound in no track', () => {
    const shifted = short.map((track) =>
      track.name === 'Bass'
        ? { ...track, audio: { sampleRate: RATE, channels: track.audio.channels.map((c) => c.map((x) => x + 0.02)) } }
        : track,
    );
    const answer = explained(sumOf(short, places), shifted);
    expect(answer.leftover.strangers).toEqual([]);
    expect(answer.leftDb).toBeLessThan(-70);
    expectPlaces(answer, places, { gain: 0.1, pan: 0.02 });
  });

  test('another song: nothing is told', () => {
    const other = multitrack(4, SECONDS / 2, 900);
    const answer = explained(
      sumOf(
        other,
        other.map(() => ({ gainDb: -9, pan: 0 })),
      ).map((side) => side.slice().reverse()),
      short,
    );
    expect(answer.lagSamples).toBe(null);
    expect(answer.tracks.every(({ gainDb, isInRough }) => gainDb === null && !isInRough)).toBe(true);
  });
});

describe('tracks of two channels', () => {
  const pair = (a: number, b: number): Audio => {
    const [one, other, middle] = [a, b, 3].map((n) => short[n]!.audio.channels[0]!) as [
      Float32Array,
      Float32Array,
      Float32Array,
    ];
    return {
      sampleRate: RATE,
      channels: [one.map((x, n) => x + 0.5 * middle[n]!), other.map((x, n) => x + 0.5 * middle[n]!)],
    };
  };

  // The laws of src/dsp/core/pan.ts, written out: the far side is folded in, or only made softer.
  const laws = [
    ['pan', -0.4, 'left'],
    ['pan', 0.7, 'left'],
    ['balance', 0.5, 'left'],
    ['pan', 0, 'left'],
    ['pan', -0.4, 'right'],
  ] as const;
  test.each(sampleOf(laws, 1))('by %s at %d, its first channel %s', (law, pan, first) => {
    const stereo = pair(9, 10);
    const heard = first === 'left' ? stereo.channels : stereo.channels.toReversed();
    const [l, r] = heard as [Float32Array, Float32Array];
    const mono = short.slice(0, 8);
    const mix = sumOf(mono, places.slice(0, 8));
    const angle = ((pan < 0 ? pan + 1 : pan) * Math.PI) / 2;
    const even = ((pan + 1) * Math.PI) / 4;
    for (let n = 0; n < l.length; n++) {
      const [x, y] = [0.4 * l[n]!, 0.4 * r[n]!];
      if (law === 'balance') {
        mix[0][n]! += Math.SQRT2 * Math.cos(even) * x;
        mix[1][n]! += Math.SQRT2 * Math.sin(even) * y;
      } else if (pan < 0) {
        mix[0][n]! += x + Math.cos(angle) * y;
        mix[1][n]! += Math.sin(angle) * y;
      } else if (pan > 0) {
        mix[0][n]! += Math.cos(angle) * x;
        mix[1][n]! += y + Math.sin(angle) * x;
      } else {
        mix[0][n]! += x;
        mix[1][n]! += y;
      }
    }
    const found = explained(mix, [...mono, { name: 'Pair', audio: stereo }]).tracks.at(-1)!;
    expect(found.law).toBe(law);
    expect(found.isSwapped).toBe(first === 'right');
    expect(Math.abs(found.pan! - pan)).toBeLessThan(0.02);
    expect(Math.abs(found.gainDb! - 20 * Math.log10(0.4))).toBeLessThan(0.1);
  });
});
