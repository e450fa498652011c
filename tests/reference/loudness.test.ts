import { describe, expect, test } from 'vitest';
import type { Audio } from '../../src/audio/audio.ts';
import { kWeightingAt, type Section } from '../../src/measure/loudness/k-weighting.ts';
import {
  channelWeights,
  loudnessOf,
  lufsOf,
  momentaryPowers,
  shortTermPowers,
  type Loudness,
} from '../../src/measure/loudness/loudness.ts';
import { weightedEnergyOf } from '../../src/measure/loudness/weighted-energy.ts';
import {
  joined,
  mono,
  pinkNoise,
  scaled,
  silence,
  sine,
  steppedSine,
  stereo,
  whiteNoise,
  type Stretch,
} from '../helpers/signals.ts';

const loudness = (audio: Audio): Loudness => loudnessOf(weightedEnergyOf(audio));
const integrated = (audio: Audio): number => loudness(audio).integrated ?? Number.NaN;
const bothSides = (stretches: readonly Stretch[]): Audio => stereo(steppedSine(stretches));

/** EBU Tech 3341 allows 0.1 LU either side of every expected reading. */
const EBU = 0.1;
const within = (actual: number | null, expected: number, tolerance: number): void => {
  expect(actual).not.toBeNull();
  expect(Math.abs(actual! - expected)).toBeLessThanOrEqual(tolerance);
};

/** Size of a section's response at `hz`, dB. */
function responseDb({ b0, b1, b2, a1, a2 }: Section, hz: number, rate: number): number {
  const w = (2 * Math.PI * hz) / rate;
  const size = (c0: number, c1: number, c2: number): number =>
    Math.hypot(c0 + c1 * Math.cos(w) + c2 * Math.cos(2 * w), c1 * Math.sin(w) + c2 * Math.sin(2 * w));
  return 20 * Math.log10(size(b0, b1, b2) / size(1, a1, a2));
}

describe('K-weighting', () => {
  // ITU-R BS.1770-5, Annex 1, tables 1 and 2.
  test('at 48 kHz is the table of BS.1770-5', () => {
    const { shelf, lowCut } = kWeightingAt(48000);
    const table: [number, number][] = [
      [shelf.b0, 1.53512485958697],
      [shelf.b1, -2.69169618940638],
      [shelf.b2, 1.19839281085285],
      [shelf.a1, -1.69065929318241],
      [shelf.a2, 0.73248077421585],
      [lowCut.b0, 1],
      [lowCut.b1, -2],
      [lowCut.b2, 1],
      [lowCut.a1, -1.99004745483398],
      [lowCut.a2, 0.99007225036621],
    ];
    for (const [actual, expected] of table) expect(actual).toBeCloseTo(expected, 12);
  });

  // The same prototype evaluated in double precision by an independent program.
  test.each([
    [
      44100,
      [
        1.53084123005035, -2.65097999515473, 1.16907907992159, -1.66365511325602, 0.712595428073225, -1.9891696736298,
        0.989199035787039,
      ],
    ],
    [
      96000,
      [
        1.5597142289758, -2.92674157825108, 1.3782612023158, -1.84460946989011, 0.855843322930641, -1.99501754472472,
        0.995023759040923,
      ],
    ],
  ])('at %i Hz follows from the same prototype', (rate, expected) => {
    const { shelf, lowCut } = kWeightingAt(rate);
    const actual = [shelf.b0, shelf.b1, shelf.b2, shelf.a1, shelf.a2, lowCut.a1, lowCut.a2];
    actual.forEach((value, n) => expect(value).toBeCloseTo(expected[n]!, 12));
  });

  // Gains of the printed table, computed independently.
  test.each([
    [20, -13.2754],
    [50, -3.9341],
    [100, -1.1335],
    [500, 0.0425],
    [997, 0.691],
    [1682, 2.4828],
    [5000, 4.0134],
    [10000, 4.0419],
    [20000, 4.0431],
  ])('lifts %i Hz by %f dB', (hz, expected) => {
    const { shelf, lowCut } = kWeightingAt(48000);
    within(responseDb(shelf, hz, 48000) + responseDb(lowCut, hz, 48000), expected, 0.001);
  });
});

describe('ITU-R BS.1770-5 calibration', () => {
  test('a full-scale 997 Hz sine in one channel reads -3.01 LUFS', () => {
    within(integrated(mono(sine({ hz: 997, seconds: 10 }))), -3.01, 0.005);
  });

  test('the same in both channels reads 0 LUFS', () => {
    within(integrated(stereo(sine({ hz: 997, seconds: 10 }))), 0, 0.005);
  });

  // EBU Tech 3341, section 2.9; -17.9933 is the exact reading, as 1 kHz is not 997 Hz.
  test('a 1 kHz alignment tone at -18 dBFS reads -18 LUFS', () => {
    within(integrated(stereo(sine({ hz: 1000, seconds: 10, db: -18 }))), -18, EBU);
    within(integrated(stereo(sine({ hz: 1000, seconds: 10, db: -18 }))), -17.9933, 0.001);
  });

  // Readings of libebur128 1.2.6, which keeps the numerator of the low cut at [1, -2, 1] at every rate.
  test.each([
    [32000, -2.99586],
    [44100, -3.00752],
    [88200, -3.02595],
    [96000, -3.0276],
    [192000, -3.03735],
  ])('at %i Hz the calibration tone reads what libebur128 reads', (rate, expected) => {
    within(integrated(mono(sine({ hz: 997, seconds: 10, rate }), rate)), expected, 0.001);
  });

  // Integral of the weighted flat spectrum: -0.691 + 3.8291.
  test('white noise of rms 1 reads 3.138 LUFS', () => {
    within(integrated(mono(whiteNoise(60, 1, 1))), 3.1381, 0.02);
  });

  // Integral of the weighted 1/f spectrum from 20 Hz to 20 kHz.
  test('pink noise of rms 1 reads 0.733 LUFS', () => {
    within(integrated(mono(pinkNoise(40, 2, 1))), 0.7333, 0.01);
  });

  test('inverting one channel changes nothing, as powers are summed', () => {
    const noise = pinkNoise(5, 3);
    within(integrated(stereo(noise, scaled(noise, -1))), integrated(stereo(noise)), 1e-9);
  });

  // BS.1770-5 table 3: front channels 1, surround channels 1.41; the low-frequency channel is left out.
  test('surround channels weigh 1.41 and the low-frequency channel nothing', () => {
    const tone = sine({ hz: 997, seconds: 5, db: -20 });
    const rest = silence(5);
    const alone = (place: number): number | null =>
      loudness({ sampleRate: 48000, channels: Array.from({ length: 6 }, (_, c) => (c === place ? tone : rest)) })
        .integrated;
    within(alone(4), alone(0)! + 10 * Math.log10(1.41), 1e-9);
    within(alone(5), alone(2)! + 10 * Math.log10(1.41), 1e-9);
    expect(alone(3)).toBeNull();
    expect(channelWeights(7)).toBeNull();
  });
});

describe('EBU Tech 3341 (2023), table 1', () => {
  test.each<[string, readonly Stretch[], number]>([
    ['case 1: 20 s at -23', [[20, -23]], -23],
    ['case 2: 20 s at -33', [[20, -33]], -33],
  ])('%s reads alike momentary, short-term and integrated', (_, stretches, expected) => {
    const { integrated: whole, maxMomentary, maxShortTerm } = loudness(bothSides(stretches));
    for (const reading of [whole, maxMomentary, maxShortTerm]) within(reading, expected, EBU);
  });

  // Second value: what libebur128 1.2.6 reads.
  test.each<[string, readonly Stretch[], number]>([
    [
      'case 3: quiet head and tail are gated',
      [
        [10, -36],
        [60, -23],
        [10, -36],
      ],
      -23.01387,
    ],
    [
      'case 4: so are parts below the absolute gate',
      [
        [10, -72],
        [10, -36],
        [60, -23],
        [10, -36],
        [10, -72],
      ],
      -23.01387,
    ],
    [
      'case 5: a louder middle counts by its length',
      [
        [20, -26],
        [20.1, -20],
        [20, -26],
      ],
      -22.97866,
    ],
  ])('%s', (_, stretches, library) => {
    const reading = integrated(bothSides(stretches));
    within(reading, -23, EBU);
    within(reading, library, 0.001);
  });

  test('case 6: five channels add up with their weights', () => {
    const channels = [-28, -28, -24, -30, -30].map((db) => sine({ hz: 1000, seconds: 20, db }));
    const reading = integrated({ sampleRate: 48000, channels });
    within(reading, -23, EBU);
    within(reading, -23.01627, 0.001);
  });

  test('case 9: short-term stays at -23 once 3 s have passed', () => {
    const pattern: Stretch[] = Array.from(
      { length: 5 },
      () =>
        [
          [1.34, -20],
          [1.66, -30],
        ] as const,
    ).flat();
    const levels = shortTermPowers(weightedEnergyOf(bothSides(pattern)));
    expect(levels.length).toBe(1201);
    for (const power of levels) within(lufsOf(power), -23, EBU);
  });

  test('case 10: a burst of 3 s reads -23 short-term wherever it begins', () => {
    for (let i = 0; i < 20; i++) {
      within(
        loudness(
          bothSides([
            [i * 0.15, null],
            [3, -23],
            [1, null],
          ]),
        ).maxShortTerm,
        -23,
        EBU,
      );
    }
  });

  test('case 11: bursts of 3 s, each 1 LU louder, lift the highest short-term to each in turn', () => {
    const pattern = Array.from({ length: 20 }, (_, i): Stretch[] => [
      [i * 0.15, null],
      [3, -38 + i],
      [3 - i * 0.15, null],
    ]);
    const powers = shortTermPowers(weightedEnergyOf(bothSides(pattern.flat())));
    for (let i = 0; i < 20; i++) within(lufsOf(Math.max(...powers.subarray(0, (i + 1) * 600 - 299))), -38 + i, EBU);
  });

  test('case 12: momentary stays at -23 once 1 s has passed', () => {
    const pattern: Stretch[] = Array.from(
      { length: 25 },
      () =>
        [
          [0.18, -20],
          [0.22, -30],
        ] as const,
    ).flat();
    const levels = momentaryPowers(weightedEnergyOf(bothSides(pattern))).subarray(60);
    expect(levels.length).toBe(901);
    for (const power of levels) within(lufsOf(power), -23, EBU);
  });

  test('case 13: a burst of 400 ms reads -23 momentary wherever it begins', () => {
    for (let i = 0; i < 20; i++) {
      within(
        loudness(
          bothSides([
            [i * 0.02, null],
            [0.4, -23],
            [1, null],
          ]),
        ).maxMomentary,
        -23,
        EBU,
      );
    }
  });

  test('case 14: bursts of 400 ms, each 1 LU louder, lift the highest momentary to each in turn', () => {
    const pattern = Array.from({ length: 20 }, (_, i): Stretch[] => [
      [i * 0.02, null],
      [0.4, -38 + i],
      [0.4 - i * 0.02, null],
    ]);
    const powers = momentaryPowers(weightedEnergyOf(bothSides(pattern.flat())));
    for (let i = 0; i < 20; i++) within(lufsOf(Math.max(...powers.subarray(0, (i + 1) * 80 - 39))), -38 + i, EBU);
  });
});

describe('gates of ITU-R BS.1770-5', () => {
  // The absolute gate is -70 LUFS; a tone of 997 Hz at level x in both channels reads x LUFS.
  test('sound just above -70 LUFS has a loudness, sound just below has none', () => {
    const at = (db: number): number | null => loudness(stereo(sine({ hz: 997, seconds: 5, db }))).integrated;
    within(at(-69.9), -69.9, 0.005);
    expect(at(-70.1)).toBeNull();
  });

  // Parts of equal length at -20 and x: ungated mean -20 + 10 log10((1 + 10^((x + 20) / 10)) / 2), gate 10 LU below.
  // x = -31 lies above its gate of -32.68 and counts; x = -34 lies below its gate of -32.84 and does not.
  // The blocks across the one step in 60 s move the reading by less than 0.03 LU.
  test('the relative gate keeps what lies less than 10 LU under the mean and drops what lies lower', () => {
    const at = (db: number): number =>
      integrated(
        stereo(
          steppedSine(
            [
              [30, -20],
              [30, db],
            ],
            997,
          ),
        ),
      );
    within(at(-31), -22.68, 0.03);
    within(at(-34), -20, 0.03);
  });

  // Of the 400 ms blocks of a 20 s tone, 197 are full. With silence around, three more at each end hold a quarter, a
  // half and three quarters of the power: all six pass the relative gate, those of silence alone do not.
  test('silence around a sound lowers its loudness by no more than the blocks across its ends', () => {
    const tone = sine({ hz: 997, seconds: 20, db: -20 });
    const expected = integrated(mono(tone)) + 10 * Math.log10((197 + 6 * 0.5) / (197 + 6));
    within(integrated(mono(joined(silence(30), tone, silence(30)))), expected, 0.005);
  });
});

describe('EBU Tech 3342 (2023), table 1: loudness range', () => {
  // The document allows 1 LU; other implementations, and this one, read the levels' exact differences.
  test.each<[string, readonly Stretch[], number]>([
    [
      'case 1: -20 and -30',
      [
        [20, -20],
        [20, -30],
      ],
      10,
    ],
    [
      'case 2: -20 and -15',
      [
        [20, -20],
        [20, -15],
      ],
      5,
    ],
    [
      'case 3: -40 and -20',
      [
        [20, -40],
        [20, -20],
      ],
      20,
    ],
    [
      'case 4: five steps',
      [
        [20, -50],
        [20, -35],
        [20, -20],
        [20, -35],
        [20, -50],
      ],
      15,
    ],
  ])('%s', (_, stretches, expected) => {
    within(loudness(bothSides(stretches)).range, expected, 0.01);
    within(loudness(bothSides([...stretches, [1.5, null]])).range, expected, 1);
  });

  test('repeating a programme keeps its loudness range', () => {
    const programme: readonly Stretch[] = [
      [20, -20],
      [20, -30],
    ];
    within(loudness(bothSides([...programme, ...programme, ...programme])).range, 10, 1);
  });

  // ffmpeg's ebur128 reads 13.0 for both.
  test('Tech 3341 cases 3 and 4 have a range of 13 LU', () => {
    within(
      loudness(
        bothSides([
          [10, -36],
          [60, -23],
          [10, -36],
        ]),
      ).range,
      13,
      0.05,
    );
    within(
      loudness(
        bothSides([
          [10, -72],
          [10, -36],
          [60, -23],
          [10, -36],
          [10, -72],
        ]),
      ).range,
      13,
      0.05,
    );
  });
});
