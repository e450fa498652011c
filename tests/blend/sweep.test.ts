import { expect, test } from 'vitest';
import { isAudible } from '../../src/blend/ledger/audible.ts';
import { blendGain, GuardedBlend } from '../../src/blend/solve/blend-space.ts';
import { bringUp } from '../../src/blend/solve/bring-up.ts';
import { checkGuards } from '../../src/blend/guards/guards.ts';
import { kneeOf } from '../../src/blend/sweep/knee.ts';
import { axisBlends, sweepFigures, sweepSteps, type Sweep, type SweepAxis } from '../../src/blend/sweep/sweep.ts';
import { measureFully } from '../../src/measure/measure.ts';
import { spaceWith, sumOf, type SpaceParts } from '../helpers/blend-spaces.ts';

const swept = (axis: Partial<SweepAxis>, parts: SpaceParts = {}, second?: SweepAxis): Sweep => {
  const space = spaceWith(parts);
  const steps = sweepSteps(
    space,
    { bus: 'wide', from: -18, to: 0, step: 6, ...axis },
    sweepFigures(space, space.gains),
    second,
  );
  for (;;) {
    const next = steps.next();
    if (next.done) return next.value;
  }
};

test('every row measures as the summed paths do, and the match brings it to the loudness of the session', () => {
  const reference = measureFully(sumOf(spaceWith().gains));
  for (const row of swept({}).rows) {
    const sum = measureFully(sumOf([1, 1, 0.3, blendGain(row.blendDb), 0.25]));
    const { figures, details } = sum;
    expect(row.integratedLufs).toBeCloseTo(figures.integratedLufs!, 5);
    expect(row.truePeakDbtp).toBeCloseTo(figures.truePeakDbtp!, 5);
    expect(row.crestDb).toBeCloseTo(figures.crestDb!, 5);
    expect(row.loudnessRangeLu).toBeCloseTo(figures.loudnessRangeLu!, 5);
    expect(row.stereo.sideToMidDb).toBeCloseTo(figures.stereo.sideToMidDb!, 5);
    expect(row.stereo.monoLossLu).toBeCloseTo(figures.stereo.monoLossLu!, 5);
    expect(row.slopeDbPerOctave).toBeCloseTo(details.slopeDbPerOctave!, 5);
    expect(row.lowsCorrelation).toBeCloseTo(details.lowsCorrelation!, 5);
    expect(row.onsetToSustainDb).toBeCloseTo(details.onsetToSustainDb!, 4);
    expect(row.onsetStrength).toBeCloseTo(details.onsetStrength!, 5);
    expect(row.matchGainDb).toBeCloseTo(reference.figures.integratedLufs! - figures.integratedLufs!, 5);
    expect(row.change.integratedLufs).toBeCloseTo(0, 9);
    expect(row.change.crestDb).toBeCloseTo(row.crestDb! - reference.figures.crestDb!, 4);
    expect(row.change.rmsDbfs).toBeCloseTo(row.rmsDbfs! + row.matchGainDb! - reference.figures.rmsDbfs!, 5);
  }
});

test('the steps meet both ends, whatever the step; a bus at or below the shut level is off', () => {
  expect(axisBlends({ bus: 'x', from: -1, to: 0, step: 0.1 })).toHaveLength(11);
  expect(axisBlends({ bus: 'x', from: -10, to: 0, step: 4 })).toEqual([-10, -6, -2, 0]);
  expect(axisBlends({ bus: 'x', from: -3, to: -3, step: 1 })).toEqual([-3]);
  const [shut] = swept({ from: -90, to: -90 }).rows;
  expect(shut!.integratedLufs).toBe(spaceWith().query.essentials([1, 1, 0.3, 0, 0.25]).integratedLufs);
});

test('a guard breaks where the mark says, to 0.02 dB: it holds just before and not just behind', () => {
  const { marks } = swept({}, { gains: [1, 1, 0, 0, 0] });
  const space = spaceWith({ gains: [1, 1, 0, 0, 0] });
  expect(marks!.guards.length).toBeGreaterThan(1);
  for (const { guard, blendDb, breaks } of marks!.guards) {
    const passes = (db: number): boolean =>
      checkGuards(space.guards, new GuardedBlend(space, [1, 1, 0, blendGain(db), 0]), space.references).find(
        ({ name }) => name === guard,
      )!.pass;
    expect([passes(blendDb - 0.02), passes(blendDb + 0.02)]).toEqual([breaks === 'above', breaks === 'below']);
  }
});

test('the bus is heard from where a third octave differs by 1 dB from the mix without it', () => {
  const { marks } = swept({ from: -60, to: 0 });
  const { query } = spaceWith();
  const heard = (db: number): boolean =>
    isAudible(query.essentials([1, 1, 0.3, 0, 0.25]), query.essentials([1, 1, 0.3, blendGain(db), 0.25]));
  const { blendDb } = marks!.audible;
  expect([heard(blendDb! - 0.02), heard(blendDb! + 0.02)]).toEqual([false, true]);
  expect(swept({ from: -90, to: -80 }).marks!.audible.sentence).toContain('changes nothing that is heard');
});

test('a grid has every pair of blends', () => {
  const { rows, marks } = swept({ from: -6, to: 0 }, {}, { bus: 'drive', from: -12, to: -6, step: 6 });
  expect(rows.map(({ blendDb, secondBlendDb }) => [blendDb, secondBlendDb])).toEqual([
    [-6, -12],
    [-6, -6],
    [0, -12],
    [0, -6],
  ]);
  expect(marks).toBeNull();
  const { integratedLufs } = spaceWith().query.essentials([1, 1, blendGain(-6), 1, 0.25]);
  expect(rows[3]!.integratedLufs).toBe(integratedLufs);
});

test('the knee of a curve is where it bends: a corner is found where it stands, a straight line has none', () => {
  const corner = Array.from({ length: 21 }, (_, n) => Math.max(0, n - 13));
  expect(kneeOf(corner)).toBe(13);
  expect(kneeOf(corner.map((value) => -3 * value + 7))).toBe(13);
  expect(kneeOf(Array.from({ length: 21 }, (_, n) => 0.5 * n))).toBeNull();
  // 0.3 dB from end to end: nothing that matters turns there. 1.05 dB does.
  expect(kneeOf(corner.map((value) => (0.3 * value) / 7))).toBeNull();
  expect(kneeOf(corner.map((value) => (1.05 * value) / 7))).toBe(13);
  expect(kneeOf([0, 1, null, 1, 0, 1])).toBeNull();
});

test('pulled down and brought up one by one: the last step is the mix as it was, and the steps add up to all that changed', () => {
  const { query, gains } = spaceWith();
  const steps = bringUp(query, gains, ['both', 'drive', 'wide'], 40);
  expect(steps.map(({ bus }) => bus)).toEqual([null, 'both', 'drive', 'wide']);
  expect(steps[0]!.gains).toEqual([1, 1, 0.3 * 0.01, 0.2 * 0.01, 0.25 * 0.01]);
  expect(steps.at(-1)!.gains).toEqual(gains);
  expect(steps.at(-1)!.figures).toEqual(query.allFigures(gains));
  const sum = steps.reduce((all, { change }) => all + (change?.integratedLufs ?? 0), 0);
  expect(sum).toBeCloseTo(steps.at(-1)!.figures.integratedLufs! - steps[0]!.figures.integratedLufs!, 9);
  expect(() => bringUp(query, gains, ['nothing'], 40)).toThrow(RangeError);
});
