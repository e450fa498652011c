import { describe, expect, test } from 'vitest';
import { decibelsOf } from '../../src/audio/decibels.ts';
import { channelMatrix } from '../../src/dsp/core/channel-mode.ts';
import { PAN_LAWS, panMatrix, type PanLaw } from '../../src/dsp/core/pan.ts';

/** Gains of the left and the right speaker for a source of one channel. */
const mono = (pan: number, law: PanLaw): [number, number] => {
  const { leftToLeft, rightToRight } = panMatrix(pan, 1, 1, law);
  return [leftToLeft, rightToRight];
};

const PANS = [-1, -0.7, -0.25, 0.1, 0.5, 0.9, 1];

describe('pan laws of one channel', () => {
  test.each(PAN_LAWS)('%s: the middle is a wire, and hard to a side nothing is left of the other', (law) => {
    expect(mono(0, law)).toEqual([1, 1]);
    expect(mono(1e-9, law)[0]).toBeCloseTo(1, 6);
    expect(mono(-1, law)[1]).toBeCloseTo(0, 12);
    expect(mono(1, law)[0]).toBeCloseTo(0, 7);
  });

  // The names of the laws are the levels of the middle against a hard side: 10 lg 2, 15 lg 2 and 20 lg 2 dB.
  test.each([
    ['-3 dB', 10],
    ['-4.5 dB', 15],
    ['-6 dB', 20],
  ] as const)('%s: a hard side is %i lg 2 dB above the middle', (law, factor) => {
    expect(decibelsOf(mono(1, law)[1])).toBeCloseTo(factor * Math.log10(2), 9);
    expect(decibelsOf(mono(-1, law)[0])).toBeCloseTo(factor * Math.log10(2), 9);
  });

  test('equal power keeps the power of both sides, linear their sum, and -4.5 dB is the geometric mean of the two', () => {
    for (const pan of PANS) {
      const [power, mean, linear] = PAN_LAWS.map((law) => mono(pan, law));
      expect(power![0] ** 2 + power![1] ** 2).toBeCloseTo(2, 12);
      expect(linear![0] + linear![1]).toBeCloseTo(2, 12);
      expect(mean![0] ** 2).toBeCloseTo(power![0] * linear![0], 12);
      expect(mean![1] ** 2).toBeCloseTo(power![1] * linear![1], 12);
    }
  });
});

test.each([
  ['-3 dB', 10],
  ['-4.5 dB', 15],
  ['-6 dB', 20],
] as const)(
  'two channels, %s: the near one stays, half-way the far one is %i lg 2 dB down on both sides',
  (law, factor) => {
    const { leftToLeft, leftToRight, rightToLeft, rightToRight } = panMatrix(0.5, 2, 1, law);
    expect([rightToLeft, rightToRight]).toEqual([0, 1]);
    for (const gain of [leftToLeft, leftToRight]) expect(decibelsOf(gain)).toBeCloseTo(-factor * Math.log10(2), 9);
    const hard = panMatrix(1, 2, 1, law);
    expect(hard.leftToLeft).toBeCloseTo(0, 7);
    expect(hard.leftToRight).toBeCloseTo(1, 12);
  },
);

/** What left 3 and right 5 become. */
const through = (...[mode, polarity]: Parameters<typeof channelMatrix>): [number, number] => {
  const { leftToLeft, leftToRight, rightToLeft, rightToRight } = channelMatrix(mode, polarity);
  return [3 * leftToLeft + 5 * rightToLeft, 3 * leftToRight + 5 * rightToRight];
};

test.each([
  ['stereo', 'normal', [3, 5]],
  ['left', 'normal', [3, 3]],
  ['right', 'normal', [5, 5]],
  ['sum', 'normal', [4, 4]],
  ['swap', 'normal', [5, 3]],
  ['stereo', 'inverted', [-3, -5]],
  ['swap', 'left inverted', [-5, 3]],
  ['sum', 'right inverted', [4, -4]],
] as const)('channel mode %s, polarity %s: 3 and 5 become %j', (mode, polarity, expected) => {
  expect(through(mode, polarity)).toEqual(expected);
});
