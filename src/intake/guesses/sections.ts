import type { BandCourse } from './band-course.ts';
import { LEAST_OFFERED, type TimeGuess } from './tempo.ts';

/** A part of the song that sounds unlike what comes before. */
export interface SectionGuess {
  readonly startSeconds: number;
  readonly endSeconds: number;
  /** How clearly the song changes where it begins, 0..1; 1 for the first. */
  readonly confidence: number;
}

/** The song is looked at in steps of so many seconds, this far to either side of a change. */
const [STEP, REACH] = [0.5, 12];
/** A change is told where it stands so many deviations above the mean; sections are this long at least, seconds. */
const [CLEAR, SHORTEST] = [0.6, 6];

/** Novelty below this (of 1 where nothing before is like anything after) is the song's own movement. */
const LEAST_NOVELTY = 0.1;

/** Level and spectrum of each step: dB of the bands, limited 60 dB below the loudest, less the mean of the band. */
const featuresOf = ({ frames, bands, powers, hopSeconds }: BandCourse): number[][] => {
  const per = Math.round(STEP / hopSeconds);
  const steps: number[][] = [];
  for (let from = 0; from + per <= frames; from += per) {
    const sums = new Array<number>(bands).fill(0);
    for (let n = from; n < from + per; n++) for (let b = 0; b < bands; b++) sums[b]! += powers[n * bands + b]!;
    steps.push(sums);
  }
  const most = Math.max(1e-30, ...steps.flat());
  const levels = steps.map((step) => step.map((power) => 10 * Math.log10(power / most + 1e-6)));
  const means = Array.from(
    { length: bands },
    (_, b) => levels.reduce((sum, step) => sum + step[b]!, 0) / levels.length,
  );
  return levels.map((step) => step.map((level, b) => level - means[b]!));
};

const likeness = (a: readonly number[], b: readonly number[]): number => {
  let sum = 0;
  for (let n = 0; n < a.length; n++) sum += (a[n]! - b[n]!) ** 2;
  return Math.exp(-sum / (a.length * 36));
};

/**
 * How much each step parts what is before from what is after: a checkerboard with soft edges over the self-similarity
 * (Foote, Proc. IEEE ICME 2000).
 */
const noveltyOf = (features: readonly number[][]): number[] => {
  const reach = Math.round(REACH / STEP);
  const weight = (d: number): number => Math.exp(-0.5 * (d / (reach / 2)) ** 2);
  return features.map((_, at) => {
    if (at < reach / 2 || at > features.length - reach / 2) return 0;
    // Near an end of the song one side is shorter: each part of the board is a mean of its own, so that a song like itself has none.
    const [sums, wholes] = [
      [0, 0, 0],
      [0, 0, 0],
    ];
    for (let i = -reach; i < reach; i++) {
      for (let j = -reach; j < reach; j++) {
        const [a, b] = [features[at + i], features[at + j]];
        if (!a || !b) continue;
        const soft = weight(i + 0.5) * weight(j + 0.5);
        const part = i < 0 === j < 0 ? (i < 0 ? 0 : 1) : 2;
        sums[part]! += soft * likeness(a, b);
        wholes[part]! += soft;
      }
    }
    const [before, after, across] = sums.map((sum, part) => sum / Math.max(1e-9, wholes[part]!)) as [
      number,
      number,
      number,
    ];
    return (before + after) / 2 - across;
  });
};

/** The nearest beginning of a bar, where one is near. */
const onBar = (seconds: number, time: TimeGuess | null): number => {
  if (!time) return seconds;
  const bar = 240 / time.tempo;
  const near = time.downbeat.seconds + bar * Math.round((seconds - time.downbeat.seconds) / bar);
  return Math.abs(near - seconds) <= STEP && near > 0 ? near : seconds;
};

/** Parts of a song by where its level and spectrum change; one where they do not. */
export const sectionGuessesOf = (course: BandCourse, time: TimeGuess | null): SectionGuess[] => {
  const features = featuresOf(course);
  const end = course.frames * course.hopSeconds;
  const novelty = noveltyOf(features);
  const mean = novelty.reduce((sum, value) => sum + value, 0) / Math.max(1, novelty.length);
  const deviation = Math.sqrt(
    novelty.reduce((sum, value) => sum + (value - mean) ** 2, 0) / Math.max(1, novelty.length),
  );
  const apart = Math.round(SHORTEST / STEP);
  const peaks = novelty.flatMap((value, n) => {
    const isPeak = novelty.slice(Math.max(0, n - apart), n + apart + 1).every((other) => other <= value);
    return isPeak && value > mean + CLEAR * deviation && value > LEAST_NOVELTY ? [{ n, value }] : [];
  });
  const most = Math.max(1e-9, ...peaks.map(({ value }) => value));
  const changes = peaks
    .map(({ n, value }) => ({
      seconds: onBar(n * STEP, time),
      confidence: Math.round(100 * Math.min(1, (value / most) * Math.min(1, 5 * value))) / 100,
    }))
    .filter(({ confidence }) => confidence >= LEAST_OFFERED);
  const starts = [{ seconds: 0, confidence: 1 }, ...changes];
  return starts.map(({ seconds, confidence }, n) => ({
    startSeconds: seconds,
    endSeconds: starts[n + 1]?.seconds ?? end,
    confidence,
  }));
};
