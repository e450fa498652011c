import { LOOKED_AT, resampled } from '../../audio/resample.ts';
import { STRETCH, type Samples } from '../../audio/samples.ts';
import { peakOf, type Peak } from './correlation.ts';
import { borderOf, sureRuns } from './lag-borders.ts';
import { lineThrough, RATE, runsOf, STEP, WINDOW, withoutBreaks, type Found } from './lag-runs.ts';
import { median } from './median.ts';

/** How far from where it was before the rough is looked for first, seconds. */
const NEAR = 0.2;
/** Peaks this sharp are no chance, near the place where they are expected and anywhere. */
const [SHARP_NEAR, SHARP] = [8, 12];
/** The whole rough, which takes long, is searched no sooner than this after it was in vain, seconds. */
const LOOK_AGAIN = 4;
/** A peak near the place that is less sharp than this part of what is usual is doubted. */
const WEAK = 0.7;
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

const sharpIn = (peak: Peak | null, least: number): Peak | null => (peak && peak.sharpness >= least ? peak : null);

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
  const polarity = median(found.map((each) => each.polarity)) < 0 ? -1 : whole.polarity;
  const sounds = { song: a, rough: b, polarity } as const;
  const runs = withoutBreaks(sureRuns(sounds, runsOf(found)));
  if (runs.length === 0) {
    const lagSeconds = whole.lag / RATE;
    return { polarity, stretches: [{ startSeconds: 0, endSeconds: a.length / RATE, lagSeconds, drift: 0 }] };
  }
  const borders = runs.slice(1).map((run, n) => borderOf(sounds, runs[n]!, run));
  const lines = runs.map(lineThrough);
  const stretches = lines.map(({ slope, at0 }, n) => ({
    startSeconds: n === 0 ? 0 : borders[n - 1]!.start,
    endSeconds: borders[n]?.end ?? a.length / RATE,
    lagSeconds: at0,
    drift: slope,
  }));
  return { polarity, stretches };
};
