import { LOOKED_AT, resampled } from '../../audio/resample.ts';
import { STRETCH, type Samples } from '../../audio/samples.ts';
import { peakOf, type Peak } from './correlation.ts';
import { median } from './median.ts';

/** Rate at which the course is looked for, Hz: fine enough for the rest to follow from phases. */
const RATE = 4000;
/** The song is looked at in windows this long, so far from one to the next, seconds. */
const [WINDOW, STEP] = [4, 1];
/** How far from where it was before the rough is looked for first, seconds. */
const NEAR = 0.2;
/** Peaks this sharp are no chance, near the place where they are expected and anywhere. */
const [SHARP_NEAR, SHARP] = [8, 12];
/** The whole rough, which takes long, is searched no sooner than this after it was in vain, seconds. */
const LOOK_AGAIN = 4;
/** A peak near the place that is less sharp than this part of what is usual is doubted. */
const WEAK = 0.7;
/** Lags that differ by more than this from one window to the next are a cut, seconds. */
const JUMP = 0.004;

/** A stretch of the song that lies in the rough in one piece. */
export interface LagStretch {
  readonly startSeconds: number;
  readonly endSeconds: number;
  /** How late the rough is at the song's second 0 of this stretch, by its straight line, seconds. */
  readonly lagSeconds: number;
  /** Standard error of that, seconds; none where it was not looked at closer. */
  readonly lagError?: number;
  /** Seconds of lag that come on in a second: another clock, or a change of speed. */
  readonly drift: number;
}

export interface LagCourse {
  readonly polarity: 1 | -1;
  /** In order; what lies in none of them is not in the rough. */
  readonly stretches: readonly LagStretch[];
}

interface Found {
  readonly seconds: number;
  readonly lag: number;
  readonly polarity: 1 | -1;
}

const sharpIn = (peak: Peak | null, least: number): Peak | null => (peak && peak.sharpness >= least ? peak : null);

/** Straight line through points: from the median of the slopes between all pairs (Theil and Sen), so outliers do not count. */
const lineThrough = (points: readonly Found[]): { readonly at0: number; readonly slope: number } => {
  const slopes = points.flatMap((a, i) => points.slice(i + 1).map((b) => (b.lag - a.lag) / (b.seconds - a.seconds)));
  const slope = median(slopes);
  return { slope, at0: median(points.map(({ seconds, lag }) => lag - slope * seconds)) };
};

/** The lags of windows of the song, each near the one before or anywhere in the rough; windows not found are left out. */
const lagsOf = (song: Float32Array, rough: Float32Array, first: Peak): Found[] => {
  const found: Found[] = [];
  const usual: number[] = [];
  let expected = first.lag;
  let nextLook = 0;
  for (let from = 0; from === 0 || from + (WINDOW * RATE) / 2 < song.length; from += STEP * RATE) {
    const window = song.subarray(from, from + WINDOW * RATE);
    const near = Math.round(NEAR * RATE);
    const start = Math.round(from + expected) - near;
    const cut = rough.slice(Math.max(0, start), Math.max(0, start + window.length + 2 * near));
    // What the cut begins with stands so far from where the window would begin with no lag.
    const shift = Math.max(0, start) - from;
    const close = sharpIn(peakOf(window, cut, start - Math.max(0, start), 2 * near), SHARP_NEAR);
    // Music that repeats is like itself bars away: where the likeness falls, the sound may be found better elsewhere.
    const isWeak = close !== null && close.sharpness < WEAK * median(usual);
    const isLost = (close === null || isWeak) && from >= nextLook;
    const anywhere = isLost ? sharpIn(peakOf(window, rough, -window.length, rough.length), SHARP) : null;
    if (isLost && !anywhere) nextLook = from + LOOK_AGAIN * RATE;
    const far = anywhere && anywhere.sharpness > (close?.sharpness ?? 0) ? anywhere : null;
    const peak = far ?? close;
    if (!peak) continue;
    if (!far) usual.push(peak.sharpness);
    expected = far ? far.lag - from : peak.lag + shift;
    found.push({ seconds: (from + window.length / 2) / RATE, lag: expected / RATE, polarity: peak.polarity });
  }
  return found;
};

/** Runs of windows that lie on one line, each of two windows or more. */
const runsOf = (found: readonly Found[]): Found[][] => {
  const runs: Found[][] = [];
  for (const each of found) {
    const run = runs.at(-1);
    const last = run?.at(-1);
    const before = run?.at(-2);
    const slope = last && before ? (last.lag - before.lag) / (last.seconds - before.seconds) : 0;
    const expected = last ? last.lag + slope * (each.seconds - last.seconds) : 0;
    if (last && Math.min(Math.abs(each.lag - expected), Math.abs(each.lag - last.lag)) < JUMP) run!.push(each);
    else runs.push([each]);
  }
  return runs.length === 1 ? runs : runs.filter((run) => run.length > 1);
};

/** Correlation of song and rough in short pieces under a lag, -1..1. */
const likeness = (song: Float32Array, rough: Float32Array, lagSeconds: number, from: number, count: number): number => {
  const shift = Math.round(lagSeconds * RATE);
  let [aa, bb, ab] = [0, 0, 0];
  for (let n = from; n < from + count; n++) {
    const [a, b] = [song[n] ?? 0, rough[n + shift] ?? 0];
    aa += a * a;
    bb += b * b;
    ab += a * b;
  }
  return aa > 0 && bb > 0 ? ab / Math.sqrt(aa * bb) : 0;
};

/** The song is compared with the rough in pieces this long to find where a run ends, seconds. */
const PIECE = 0.1;

/** Where a run of windows ends and the next begins, seconds of the song; between them the rough has nothing of it. */
const borderOf = (song: Float32Array, rough: Float32Array, before: Found, after: Found, polarity: number) => {
  const piece = Math.round(PIECE * RATE);
  const first = Math.max(0, Math.round((before.seconds - WINDOW / 2) * RATE));
  const pieces = Math.ceil(((after.seconds + WINDOW / 2) * RATE - first) / piece);
  const course = (lag: number): number[] =>
    Array.from({ length: pieces }, (_, n) => polarity * likeness(song, rough, lag, first + n * piece, piece));
  const [old, next] = [course(before.lag), course(after.lag)];
  // Half of what is usual inside a run: below it the sound is no longer that of the song there.
  const inside = Math.max(1, Math.floor(WINDOW / 4 / PIECE));
  const [oldHalf, nextHalf] = [median(old.slice(0, inside)) / 2, median(next.slice(-inside)) / 2];
  const end = bestSum(old.map((value) => value - oldHalf));
  const start = pieces - bestSum(next.map((value) => value - nextHalf).reverse());
  const at = (n: number): number => (first + n * piece) / RATE;
  if (end <= start) return { end: at(end), start: at(start) };
  // Both fit for a while: it changes where the one begins to fit better.
  const change = bestSum(old.map((value, n) => value - next[n]!));
  return { end: at(change), start: at(change) };
};

/** How many of the first values add up to most. */
const bestSum = (values: readonly number[]): number => {
  let [sum, most, count] = [0, 0, 0];
  values.forEach((value, n) => {
    sum += value;
    if (sum > most) [most, count] = [sum, n + 1];
  });
  return count;
};

/** At the rate of the course; a long sound is converted part by part, for all of it at once would be twice as much again. */
const slow = (samples: Samples, sampleRate: number): Float32Array => {
  const [channel] = resampled({ sampleRate, channels: [samples] }, Math.min(RATE, sampleRate), LOOKED_AT).channels;
  const out = new Float32Array(channel!.length);
  for (let from = 0; from < out.length; from += STRETCH)
    out.set(channel!.subarray(from, Math.min(out.length, from + STRETCH)), from);
  return out;
};

/**
 * How the rough lies over the song: one stretch where it is whole, several where it was cut or moved, each with its
 * drift. null: they share too little to say.
 *
 * @param song the sum of the tracks, one channel
 * @param rough one channel, at the same rate
 */
export const lagCourseOf = (song: Samples, rough: Samples, sampleRate: number): LagCourse | null => {
  const [a, b] = [slow(song, sampleRate), slow(rough, sampleRate)];
  const whole = sharpIn(peakOf(a, b, -a.length, b.length), SHARP);
  if (!whole) return null;
  const found = lagsOf(a, b, whole);
  const runs = runsOf(found);
  const polarity = median(found.map((each) => each.polarity)) < 0 ? -1 : whole.polarity;
  if (runs.length === 0) {
    const lagSeconds = whole.lag / RATE;
    return { polarity, stretches: [{ startSeconds: 0, endSeconds: a.length / RATE, lagSeconds, drift: 0 }] };
  }
  const borders = runs.slice(1).map((run, n) => borderOf(a, b, runs[n]!.at(-1)!, run[0]!, polarity));
  const lines = runs.map((run) =>
    run.length > 2 ? lineThrough(run) : { slope: 0, at0: median(run.map(({ lag }) => lag)) },
  );
  const stretches = lines.map(({ slope, at0 }, n) => ({
    startSeconds: n === 0 ? 0 : borders[n - 1]!.start,
    endSeconds: borders[n]?.end ?? a.length / RATE,
    lagSeconds: at0,
    drift: slope,
  }));
  return { polarity, stretches };
};
