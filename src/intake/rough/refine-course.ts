import type { Fit } from './fit-balance.ts';
import type { LagCourse } from './lag-course.ts';
import { median, quantile } from './median.ts';
import { onSides, predictedSide, type RoughProblem } from './model.ts';
import { filterPhases, lagErrorOf, phaseLagOf, sharedOf } from './phase-lag.ts';
import { blockSeconds } from './sketch-plan.ts';

/** A filter's phases count where they leave less than this of what a delay alone leaves. */
const FILTERED = 0.8;
/** Lags are whole in nearly all songs: a part of a sample is told where it is so many times its error. */
const SURELY = 4;
/** Blocks whose phases are looked at together for a drift: so many windows in a song, of a length within these ends. */
const [WINDOWS, SHORTEST_WINDOW, LONGEST_WINDOW] = [8, 4, 16];
/** Drifts that come to less than so many samples over the song are none. */
const LEAST_DRIFT = 0.3;
/** Fewer windows than this tell no drift. */
const LEAST_WINDOWS = 5;

/** The course with whole samples of lag, where it does not drift: phases then tell the rest. */
export const settled = (course: LagCourse, sampleRate: number): LagCourse => ({
  ...course,
  stretches: course.stretches.map((stretch) => {
    const grows = Math.abs(stretch.drift) * (stretch.endSeconds - stretch.startSeconds) * sampleRate;
    if (grows > 2) return stretch;
    const middle = stretch.lagSeconds + (stretch.drift * (stretch.startSeconds + stretch.endSeconds)) / 2;
    return { ...stretch, drift: 0, lagSeconds: Math.round(middle * sampleRate) / sampleRate };
  }),
});

/** The course moved by what the phases of a first fit tell. */
export const refined = (problem: RoughProblem, fit: Fit, course: LagCourse): LagCourse => {
  const { plan, rough } = problem;
  const predicted = onSides((side) => predictedSide(problem, fit.model.gains[side], fit.model.levels));
  const filter = filterPhases(plan, fit.model.response);
  const seconds = blockSeconds(plan);
  const stretches = course.stretches.map((stretch, n) => {
    const from = n === 0 ? 0 : Math.ceil(stretch.startSeconds / seconds);
    const to = Math.min(
      plan.blocks,
      n === course.stretches.length - 1 ? plan.blocks : Math.floor(stretch.endSeconds / seconds),
    );
    const over = (block: number, end: number) => sharedOf(plan, predicted, rough, fit.weights, block, end);
    const shared = over(from, to);
    const plain = phaseLagOf(plan, shared, null);
    const filtered = phaseLagOf(plan, shared, filter);
    if (!plain || !filtered) return stretch;
    // A filter is between the two where its phases explain clearly more than a delay alone.
    const phases = 1 - filtered.explained < FILTERED * (1 - plain.explained) ? filter : null;
    const whole = phases ? filtered : plain;
    const windows: (readonly [seconds: number, lag: number])[] = [];
    const window = Math.max(SHORTEST_WINDOW, Math.min(LONGEST_WINDOW, Math.floor((to - from) / WINDOWS)));
    for (let block = from; block + window / 2 <= to; block += window) {
      const end = Math.min(to, block + window);
      const part = phaseLagOf(plan, over(block, end), phases);
      if (part && part.explained > 0.5) windows.push([((block + end) / 2) * seconds, part.samples]);
    }
    const slope =
      windows.length < LEAST_WINDOWS
        ? 0
        : median(windows.flatMap(([t, lag], i) => windows.slice(i + 1).map(([u, other]) => (other - lag) / (u - t))));
    const grown = slope * (to - from) * seconds;
    const scatter = quantile(
      windows.map(([t, lag]) => Math.abs(lag - whole.samples - slope * (t - ((from + to) / 2) * seconds))),
      0.8,
    );
    if (Math.abs(grown) > Math.max(LEAST_DRIFT, 6 * scatter)) {
      const at0 = median(windows.map(([t, lag]) => lag - slope * t));
      return {
        ...stretch,
        lagSeconds: stretch.lagSeconds + at0 / plan.sampleRate,
        drift: stretch.drift + slope / plan.sampleRate,
        lagError: scatter / plan.sampleRate,
      };
    }
    const lagError = lagErrorOf(plan, shared, phases);
    const lag = stretch.lagSeconds * plan.sampleRate + whole.samples;
    const isWhole = stretch.drift === 0 && Math.abs(lag - Math.round(lag)) < SURELY * lagError;
    return {
      ...stretch,
      lagError: lagError / plan.sampleRate,
      lagSeconds: (isWhole ? Math.round(lag) : lag) / plan.sampleRate,
    };
  });
  return { ...course, stretches };
};
