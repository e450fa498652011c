import type { BandCourse } from './band-course.ts';

/** A tempo and how probable it is among those that fit, 0..1. */
export interface TempoGuess {
  /** Quarter notes a minute. */
  readonly tempo: number;
  readonly confidence: number;
}

/** A guess less probable than this is not offered: our own choice. */
export const LEAST_OFFERED = 0.1;
/** Of tempos that have less than this, none is offered. */
const LEAST_BEST = 0.3;

/** What is guessed of the song's time. */
export interface TimeGuess extends TempoGuess {
  /** The same beat counted at half and at double the tempo, where that is at all probable. */
  readonly alternatives: readonly TempoGuess[];
  /** Where a beat lies, seconds, the first after 0. */
  readonly firstBeatSeconds: number;
  /** Where the first bar of four beats begins. */
  readonly downbeat: { readonly seconds: number; readonly confidence: number };
}

/** Tempos that are looked for, quarter notes a minute. */
const [SLOWEST, FASTEST] = [50, 210];
/** Before the song is heard, tempos near this are likelier, by a bell over the logarithm so many octaves wide. */
const [USUAL, WIDTH] = [120, 1];
/**
 * Beats are usually halved (eighths), and less often quartered: how much the onsets at half and at a quarter of a beat, beside those on beats, speak for a
 * tempo and against it (weights of a log likelihood, fitted to 48 made songs), and no more than at so many times those on beats.
 */
const [HALVED, QUARTERED, MOST_PARTS] = [0.6, -0.3, 1.2];
/** Scores to this power are no more than how often such a guess is right: of 108 made songs, half of those told at 0.41, 91 of 100 at 0.51, all at 0.71. */
const SHARPNESS = 3;
/** Beats over which a tempo must hold to be counted. */
const BEATS = 16;
const IN_A_BAR = 4;
/** Bands 60 dB below the loudest tell nothing. */
const FLOOR = 1e-6;

/** How much the bands rise from frame to frame (log spectral flux), less what is usual around; bands up to `to`. */
const onsetsOf = ({ frames, bands, powers, hopSeconds }: BandCourse, to: number): Float64Array => {
  const most = powers.reduce((greatest, power) => Math.max(greatest, power), 0);
  const rises = new Float64Array(frames);
  for (let n = 1; n < frames; n++) {
    for (let b = 0; b < to; b++) {
      const [before, now] = [powers[(n - 1) * bands + b]!, powers[n * bands + b]!];
      rises[n]! += Math.max(0, Math.log((now + FLOOR * most) / (before + FLOOR * most)));
    }
  }
  const reach = Math.round(0.5 / hopSeconds);
  const sums = new Float64Array(frames + 1);
  rises.forEach((rise, n) => (sums[n + 1] = sums[n]! + rise));
  return rises.map((rise, n) => {
    const [from, end] = [Math.max(0, n - reach), Math.min(frames, n + reach)];
    return Math.max(0, rise - (sums[end]! - sums[from]!) / (end - from));
  });
};

/** Products of the onsets with themselves so many frames later, one at 0. */
const autocorrelation = (onsets: Float64Array, longest: number): Float64Array => {
  const mean = onsets.reduce((sum, value) => sum + value, 0) / Math.max(1, onsets.length);
  const centred = onsets.map((value) => value - mean);
  const out = new Float64Array(longest + 2);
  for (let lag = 0; lag < out.length; lag++) {
    let sum = 0;
    for (let n = lag; n < centred.length; n++) sum += centred[n]! * centred[n - lag]!;
    out[lag] = sum / Math.max(1, centred.length - lag);
  }
  const whole = out[0]! || 1;
  return out.map((value) => value / whole);
};

const between = (values: Float64Array, at: number): number => {
  const low = Math.floor(at);
  return values[low]! + (at - low) * ((values[low + 1] ?? 0) - values[low]!);
};

/** Mean correlation at one to `BEATS` beats. */
const combAt = (correlation: Float64Array, period: number): number => {
  let [sum, count] = [0, 0];
  for (let k = 1; k <= BEATS && k * period < correlation.length - 1; k++, count++)
    sum += between(correlation, k * period);
  return count > 0 ? sum / count : 0;
};

const likelihood = (tempo: number): number => Math.exp(-0.5 * (Math.log2(tempo / USUAL) / WIDTH) ** 2);

/** Where values at a period add up to most: frames from 0 up to one period. */
const phaseOf = (values: Float64Array, period: number): { readonly phase: number; readonly sum: number } => {
  let best = { phase: 0, sum: -1 };
  for (let phase = 0; phase < period; phase += 0.5) {
    let sum = 0;
    for (let at = phase; at < values.length - 1; at += period) sum += between(values, at);
    if (sum > best.sum) best = { phase, sum };
  }
  return best;
};

const rounded = (value: number, per: number): number => Math.round(value * per) / per;

/** The beat of four at which low notes and chords begin most, from a beat at `phase` on, frames. */
const downbeatOf = (course: BandCourse, phase: number, period: number): TimeGuess['downbeat'] => {
  const low = onsetsOf(course, 6);
  const bars = Array.from({ length: IN_A_BAR }, (_, k) => {
    let sum = 0;
    for (let at = phase + k * period; at < course.frames - 1; at += IN_A_BAR * period)
      sum += Math.max(between(low, at), between(low, at + 1));
    return sum;
  });
  const first = bars.indexOf(Math.max(...bars));
  const next = Math.max(...bars.filter((_, k) => k !== first));
  const total = bars.reduce((sum, value) => sum + value, 0) || 1;
  return {
    seconds: rounded((phase + first * period) * course.hopSeconds, 1000),
    confidence: rounded((bars[first]! - next) / total + 1 / IN_A_BAR, 100),
  };
};

/**
 * Tempo, beat and downbeat of a song at one tempo, from the autocorrelation of its onsets: the period whose multiples
 * correlate best, weighed by how usual its tempo is (after Ellis, J. New Music Research 36(1), 2007); the downbeat is the
 * beat of four at which low notes and chords begin most. null: nothing repeats, or no tempo is probable enough to be offered.
 */
export const timeGuessOf = (course: BandCourse): TimeGuess | null => {
  const { hopSeconds, frames } = course;
  const onsets = onsetsOf(course, course.bands);
  const longest = Math.min(frames - 2, Math.round((BEATS * 60) / SLOWEST / hopSeconds));
  if (longest < 60 / SLOWEST / hopSeconds) return null;
  const correlation = autocorrelation(onsets, longest);
  let best = { tempo: 0, score: 0, comb: 0 };
  const scores: { tempo: number; score: number }[] = [];
  for (let tempo = SLOWEST; tempo <= FASTEST; tempo *= 1.001) {
    const comb = combAt(correlation, 60 / tempo / hopSeconds);
    const part = (of: number): number =>
      Math.min(MOST_PARTS, Math.max(0, combAt(correlation, 60 / tempo / hopSeconds / of) / comb));
    const score = comb > 0 ? comb * likelihood(tempo) * Math.exp(HALVED * part(2) + QUARTERED * part(4)) : 0;
    scores.push({ tempo, score });
    if (score > best.score) best = { tempo, score, comb };
  }
  if (!(best.comb > 0.02)) return null;
  for (let step = 0.0005; step > 1e-6; step /= 2) {
    for (const tempo of [best.tempo * (1 - step), best.tempo * (1 + step)]) {
      const comb = combAt(correlation, 60 / tempo / hopSeconds);
      if (comb > best.comb) best = { ...best, tempo, comb };
    }
  }
  const scoreNear = (tempo: number): number =>
    scores.reduce(
      (most, each) => (Math.abs(Math.log2(each.tempo / tempo)) < 0.03 ? Math.max(most, each.score) : most),
      0,
    ) ** SHARPNESS;
  const related = [best.tempo / 2, best.tempo * 2].filter((tempo) => tempo >= SLOWEST / 1.2 && tempo <= FASTEST * 1.2);
  const strangers = scores.filter(
    ({ tempo }) =>
      Math.abs(Math.log2(tempo / best.tempo)) > 0.06 &&
      !related.some((other) => Math.abs(Math.log2(tempo / other)) < 0.06),
  );
  const rival = strangers.reduce((most, { score }) => Math.max(most, score), 0) ** SHARPNESS;
  const all = [best.tempo, ...related].reduce((sum, tempo) => sum + scoreNear(tempo), rival);
  const share = (tempo: number): number => rounded(scoreNear(tempo) / all, 100);
  if (share(best.tempo) < LEAST_BEST) return null;
  const period = 60 / best.tempo / hopSeconds;
  const beat = phaseOf(onsets, period);
  return {
    tempo: rounded(best.tempo, 100),
    confidence: share(best.tempo),
    alternatives: related
      .map((tempo) => ({ tempo: rounded(tempo, 100), confidence: share(tempo) }))
      .filter(({ confidence }) => confidence >= LEAST_OFFERED),
    firstBeatSeconds: rounded(beat.phase * hopSeconds, 1000),
    downbeat: downbeatOf(course, beat.phase, period),
  };
};
