import { framesOf, type Sound } from '../../audio/audio.ts';
import { decibelsOf } from '../../audio/decibels.ts';
import { partOf } from '../../audio/steps.ts';
import { centred } from './centred.ts';
import { certaintiesOf } from './certainty.ts';
import { fitBalance, type Fit } from './fit-balance.ts';
import { lagCourseOf, type LagCourse } from './lag-course.ts';
import { positionsOf, roughSides, silenceOutside, withinRough } from './lay-rough.ts';
import { bandEnergies, leftoverOf, ratioDb, type Leftover } from './leftover.ts';
import { leftoverOwner, type LeftoverOwner } from './leftover-owner.ts';
import { quantile } from './median.ts';
import { midOf } from './mid-samples.ts';
import { differenceOf, onSides, predictedSide, SIDES, type RoughProblem, type Sides } from './model.ts';
import { Products } from './products.ts';
import { refined, settled } from './refine-course.ts';
import type { SongSketch } from './sketch-book.ts';
import { frameLength, type SketchPlan } from './sketch-plan.ts';
import type { Sketch } from './sketch.ts';
import { sourcesOf } from './sources.ts';
import { trackEnergies } from './track-energies.ts';
import { laterSketch, trackShifts } from './track-shifts.ts';
import { isSameOnBothSides, trackInRough, type TrackInRough } from './track-in-rough.ts';

/** The rough, explained by its tracks. */
export interface RoughExplained {
  /** The rough is the same on both sides: it does not tell where tracks stand. */
  readonly isMono: boolean;
  /** Samples by which the rough is late, to a hundredth where that can be told; null: it shares too little with the tracks. */
  readonly lagSamples: number | null;
  /** Standard error of that, samples; null where it is not known. */
  readonly lagError: number | null;
  /** Parts of a million by which the rough runs slower (+) or faster (-). */
  readonly driftPpm: number;
  /** Where the rough lies over the song; more than one where it was cut. */
  readonly stretches: LagCourse['stretches'];
  readonly polarity: 1 | -1;
  /** Gain of the rough against the plain sum of the tracks as they came, in what both share, dB. */
  readonly gainDb: number | null;
  /** What the tracks at these levels leave of the rough, dB beside it. */
  readonly residualDb: number;
  /** The same once the filter and the gain over time that all went through are taken off. */
  readonly leftDb: number;
  /** The filter that all went through; the median band has 0 dB. null where the rough tells nothing. */
  readonly response: readonly { readonly hz: number; readonly gainDb: number | null }[];
  /** Range of the gain that all went through over time, dB: from the 5th to the 95th percentile of frames with sound. */
  readonly movementDb: number;
  readonly tracks: readonly TrackInRough[];
  /** With the track that most of it goes with, if there is one. */
  readonly leftover: Leftover & { readonly owner: LeftoverOwner | null };
}

/** A track this far below the rough (energy, dB) is not in it as far as can be told. */
const ABSENT_DB = -60;

const sumOf = (values: Float64Array): number => values.reduce((sum, value) => sum + value, 0);

/** Least-squares gain of the rough against the sum of the tracks as they came. */
const plainGain = (problem: RoughProblem): number | null => {
  const { plan, sources, rough } = problem;
  const ones = new Float64Array(plan.blocks * problem.tracks).fill(1);
  let [shared, energy] = [0, 0];
  for (const side of SIDES) {
    const wrong = side === 0 ? 'right' : 'left';
    const gains = Float64Array.from(sources.all, (source) => (source.side === wrong ? 0 : 1));
    const sum = predictedSide(problem, gains, ones);
    for (let b = 0; b < plan.bands.length; b++) {
      for (let frame = 0; frame < plan.frames; frame++) {
        const base = frame * frameLength(plan);
        for (let e = base + 2 * plan.bandStart[b]!; e < base + 2 * plan.bandStart[b + 1]!; e++) {
          shared += plan.bandWeight[b]! * sum[e]! * rough[side][e]!;
          energy += plan.bandWeight[b]! * sum[e]! * sum[e]!;
        }
      }
    }
  }
  return shared > 0 && energy > 0 ? decibelsOf(shared / energy) : null;
};

/** Where more than this is left beside the rough, dB, the tracks do not explain it: levels and filters that were found say nothing then. */
const UNEXPLAINED_DB = -6;

const unexplained = (plan: SketchPlan, tracks: number): RoughExplained => ({
  isMono: false,
  lagSamples: null,
  lagError: null,
  driftPpm: 0,
  stretches: [],
  polarity: 1,
  gainDb: null,
  residualDb: 0,
  leftDb: 0,
  response: plan.bands.map(({ hz }) => ({ hz, gainDb: null })),
  movementDb: 0,
  tracks: Array.from({ length: tracks }, () => ({
    ...({ gainDb: null, pan: null, law: 'pan', polarity: 1, confidence: 0, errorDb: null, panError: null } as const),
    ...{ isInRough: false, isSwapped: false, shiftSamples: 0, levels: [], twins: [], together: null },
  })),
  leftover: { bands: plan.bands.map(({ hz }) => ({ hz, levelDb: null })), course: [], strangers: [], owner: null },
});

/**
 * Explains the rough by the tracks of a song: where it lies, at which level and place each track stands in it, what all
 * went through, and what is left. Yields the part done, 0..1.
 *
 * @param given one or two channels at the rate of the sketches
 */
export function* explainRough({ plan, sketches, song }: SongSketch, given: Sound): Generator<number, RoughExplained> {
  const rough = centred(given);
  const found = lagCourseOf(song, midOf(rough), plan.sampleRate);
  if (!found) return unexplained(plan, sketches.length);
  yield 0.1;
  const first = settled(found, plan.sampleRate);
  const position = withinRough(plan, positionsOf(plan, first.stretches), framesOf(rough));
  const restore = silenceOutside(plan, sketches, position);
  try {
    return yield* explainedFrom(plan, sketches, rough, first);
  } finally {
    restore();
  }
}

/** The same from where the rough lies to whole samples. */
function* explainedFrom(
  plan: SketchPlan,
  sketches: readonly Sketch[],
  rough: Sound,
  first: LagCourse,
): Generator<number, RoughExplained> {
  const sources = sourcesOf(sketches);
  const products = yield* partOf(Products.of(plan, sources.all), 0.1, 0.5);
  const posed = { plan, tracks: sketches.length, sources, products };
  const rawProblem: RoughProblem = { ...posed, rough: roughSides(plan, rough, first) };
  const near = refined(rawProblem, yield* partOf(fitBalance(rawProblem, 3, 0), 0.5, 0.6), first);
  const nearProblem: RoughProblem = { ...posed, rough: roughSides(plan, rough, near) };
  const nearFit = yield* partOf(fitBalance(nearProblem, 3, 0), 0.6, 0.65);
  // A fit at a lag that was some samples off gave highs little say: the part of a sample is told by the one at the right lag.
  const course = refined(nearProblem, nearFit, near);
  const isMoved = course.stretches.some(
    ({ lagSeconds, drift }, n) =>
      drift !== near.stretches[n]!.drift ||
      Math.abs(lagSeconds - near.stretches[n]!.lagSeconds) * plan.sampleRate > LEAST_MOVE,
  );
  const problem: RoughProblem = isMoved ? { ...posed, rough: roughSides(plan, rough, course) } : nearProblem;
  const shifts = trackShifts(problem, nearFit);
  const isShifted = shifts.some((samples) => samples !== 0);
  const moved = isShifted ? yield* partOf(withShifts(problem, sketches, shifts), 0.65, 0.75) : problem;
  const fit = yield* partOf(fitBalance(moved), 0.75, 0.95);
  const answer = answerOf(moved, fit, course, shifts);
  if (answer.leftDb < UNEXPLAINED_DB) return answer;
  const { residualDb, leftDb } = answer;
  return { ...unexplained(plan, sketches.length), residualDb, leftDb };
}

/** The same problem with each track so many samples later. */
function* withShifts(
  problem: RoughProblem,
  sketches: readonly Sketch[],
  shifts: readonly number[],
): Generator<number, RoughProblem> {
  const { plan } = problem;
  const sources = sourcesOf(
    sketches.map((sketch, track) => (shifts[track] === 0 ? sketch : laterSketch(plan, sketch, shifts[track]!))),
  );
  return { ...problem, sources, products: yield* Products.of(plan, sources.all) };
}

/** A lag that is moved by less than this is not laid anew, samples. */
const LEAST_MOVE = 0.005;

const answerOf = (problem: RoughProblem, fit: Fit, course: LagCourse, shifts: readonly number[]): RoughExplained => {
  const { plan, rough } = problem;
  const { model } = fit;
  const energies = bandEnergies(plan, rough);
  const whole = sumOf(energies);
  const part = (sides: Sides<Float32Array>): number =>
    ratioDb(
      bandEnergies(plan, sides).reduce((a, b) => a + b, 0),
      whole,
    );
  const predicted = onSides((side) => predictedSide(problem, model.gains[side], model.levels));
  const residual = bandEnergies(plan, fit.residual);
  const certainties = certaintiesOf(problem, fit);
  const own = trackEnergies(problem, model);
  const bandShare = plan.bands.map((_, b) => {
    let sum = 0;
    for (let block = 0; block < plan.blocks; block++) sum += energies[block * plan.bands.length + b]!;
    return sum / whole;
  });
  const moving = Array.from(model.common).filter((gain) => gain !== 1);
  const [stretch] = course.stretches;
  return {
    isMono: isSameOnBothSides(rough),
    lagSamples: stretch ? Math.round(100 * stretch.lagSeconds * plan.sampleRate) / 100 + 0 : null,
    lagError: stretch?.lagError === undefined ? null : stretch.lagError * plan.sampleRate,
    driftPpm: Math.round(1e7 * (stretch?.drift ?? 0)) / 10 + 0,
    stretches: course.stretches,
    polarity: course.polarity,
    gainDb: plainGain(problem),
    residualDb: part(differenceOf(rough, predicted)),
    leftDb: part(fit.residual),
    response: plan.bands.map(({ hz }, b) => ({
      hz,
      gainDb: bandShare[b]! > 1e-7 ? decibelsOf(Math.hypot(model.response[2 * b]!, model.response[2 * b + 1]!)) : null,
    })),
    movementDb: moving.length === 0 ? 0 : decibelsOf(quantile(moving, 0.95) / quantile(moving, 0.05)),
    tracks: certainties.map((_, track) => ({
      ...trackInRough(problem, fit, certainties, track, ratioDb(sumOf(own[track]!), whole) > ABSENT_DB),
      shiftSamples: shifts[track]!,
    })),
    leftover: { ...leftoverOf(plan, residual, energies), owner: leftoverOwner(plan, residual, energies, own) },
  };
};
