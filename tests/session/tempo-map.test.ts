import { expect, it } from 'vitest';
import { sectionOfBars } from '../../src/session/edits/edits.ts';
import { problemsOf } from '../../src/session/read/parse.ts';
import { sentenceOf } from '../../src/session/problem.ts';
import { TempoMap } from '../../src/session/tempo-map.ts';
import { sessionFrom } from '../helpers/sessions.ts';
import { CHANGING_TEMPO, RAMP_SECONDS } from '../helpers/tempo-song.ts';

const song = sessionFrom(CHANGING_TEMPO);

const BAR_3 = (60 / (60 / 7)) * Math.log(1 + (4 * 60) / 7 / 60);

it('places bars by arithmetic through steps, ramps and other meters, and back', () => {
  const map = new TempoMap(song);
  const expected = [
    [1, 0],
    [2.5, 3],
    [3, 4],
    [4, 4 + BAR_3],
    [5, 4 + RAMP_SECONDS],
    [6, 4 + RAMP_SECONDS + 1.5],
    [8, 4 + RAMP_SECONDS + 1.5 + 4],
  ] as const;
  for (const [bar, seconds] of expected) {
    expect(map.secondsAt(bar), `${bar}`).toBeCloseTo(seconds, 12);
    expect(map.barAt(seconds), `${bar}`).toBeCloseTo(bar, 12);
  }
  expect(sectionOfBars(song, 'Bridge', 5, 8)).toEqual({
    ...{ name: 'Bridge', startSeconds: map.secondsAt(5), endSeconds: map.secondsAt(8) },
  });
});

it('counts bars and beats through steps, ramps and other meters, and finds the nearest beat', () => {
  const map = new TempoMap(song);
  expect([0, 0.5, 1.99, 2, 4].map((at) => map.beatAt(at))).toEqual([
    ...[
      { bar: 1, beat: 1 },
      { bar: 1, beat: 2 },
      { bar: 1, beat: 4 },
      { bar: 2, beat: 1 },
      { bar: 3, beat: 1 },
    ],
  ]);
  // Bar 4 has six beats, eighths; the fourth begins half way.
  expect(map.beatAt(map.secondsAt(4.5) + 0.01)).toEqual({ bar: 4, beat: 4 });
  expect(map.nearestBeat(map.secondsAt(4.5) + 0.05)).toBeCloseTo(map.secondsAt(4.5), 12);
  expect(map.nearestBeat(0.3)).toBeCloseTo(0.5, 12);
  // From the last beat of bar 3 one on is bar 4, and two on its second eighth.
  expect(map.beatsFrom(map.secondsAt(3.75), 1)).toBeCloseTo(map.secondsAt(4), 12);
  expect(map.beatsFrom(map.secondsAt(4), 1)).toBeCloseTo(map.secondsAt(4 + 1 / 6), 12);
  expect(map.beatsFrom(0.2, -1)).toBe(0);
  expect(map.tempoAt(map.secondsAt(3.5)).tempo).toBeCloseTo(60 + 120 / 7, 9);
});

it('has a step of the tempo at each change, and at each quarter note of a ramp', () => {
  const { steps } = new TempoMap(song);
  expect(steps.map(({ tempo }) => Number(tempo.toFixed(6)))).toEqual([
    120,
    ...Array.from({ length: 7 }, (_, n) => Number((60 + (n * 60) / 7).toFixed(6))),
    ...[120, 90],
  ]);
  expect(steps.map(({ meter }) => meter[1])).toEqual([4, 4, 4, 4, 4, 8, 8, 8, 8, 8]);
});

it('is refused where changes do not come after one another', () => {
  const wrong = { ...song, tempoChanges: [song.tempoChanges[1]!, song.tempoChanges[0]!], meterChanges: [] };
  expect(problemsOf(wrong).map(sentenceOf)).toEqual([
    'tempoChanges[1].bar must be after the change before it, at bar 5, not 3.',
  ]);
});
