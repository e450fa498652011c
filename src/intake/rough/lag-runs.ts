import { median } from './median.ts';

/** Rate at which the course is looked for, Hz: fine enough for the rest to follow from phases. */
export const RATE = 4000;
/** The song is looked at in windows this long, so far from one to the next, seconds. */
export const [WINDOW, STEP] = [4, 1];
/** Lags that differ by more than this from one window to the next are a cut, seconds. */
const JUMP = 0.004;

/** Where a window of the song was found in the rough. */
export interface Found {
  /** Middle of the window. */
  readonly seconds: number;
  /** How late the rough is there, seconds. */
  readonly lag: number;
  readonly polarity: 1 | -1;
}

/** Lag over the song, seconds. */
export interface Line {
  readonly at0: number;
  readonly slope: number;
}

/** Straight line through points: from the median of the slopes between all pairs (Theil and Sen), so outliers do not count. */
export const lineThrough = (run: readonly Found[]): Line => {
  const slopes = run.flatMap((a, i) => run.slice(i + 1).map((b) => (b.lag - a.lag) / (b.seconds - a.seconds)));
  const slope = run.length > 2 ? median(slopes) : 0;
  return { slope, at0: median(run.map(({ seconds, lag }) => lag - slope * seconds)) };
};

/** Whether a window goes on where a run ends. */
const goesOn = (run: readonly Found[], each: Found): boolean => {
  const [before, last] = [run.at(-2), run.at(-1)!];
  const slope = before ? (last.lag - before.lag) / (last.seconds - before.seconds) : 0;
  const expected = last.lag + slope * (each.seconds - last.seconds);
  return Math.min(Math.abs(each.lag - expected), Math.abs(each.lag - last.lag)) < JUMP;
};

/** Runs of windows that lie on one line, each of two windows or more. */
export const runsOf = (found: readonly Found[]): Found[][] => {
  const runs: Found[][] = [];
  for (const each of found) {
    const run = runs.at(-1);
    if (run && goesOn(run, each)) run.push(each);
    else runs.push([each]);
  }
  return runs.length === 1 ? runs : runs.filter((run) => run.length > 1);
};

/** With what lies behind it at the same lag, where nothing that counts is between. */
export const withoutBreaks = (runs: readonly Found[][]): Found[][] =>
  runs.reduce<Found[][]>((joined, run) => {
    const before = joined.at(-1);
    if (before && goesOn(before, run[0]!)) before.push(...run);
    else joined.push([...run]);
    return joined;
  }, []);
