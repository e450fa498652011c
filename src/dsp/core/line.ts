import { faderGain } from './fader-gain.ts';

/** Curves from one point of a line to the next; `PreparedLine.curves` holds indices of this list. */
export const CURVES = ['hold', 'linear', 'exponential', 's-curve'] as const;
export type Curve = (typeof CURVES)[number];

/**
 * A line over time, prepared for strips: plain data that can be sent between threads. Its value at a frame of the song depends on the frame
 * only, so that it is the same wherever rendering begins and in both executors.
 */
export interface PreparedLine {
  /** Identifies the line: equal text, equal line. */
  readonly text: string;
  /** Frames of the song at which the points lie, not rounded, none before the one before it. */
  readonly frames: Float64Array;
  /** A value for each: a number, the index of a choice, or 0 / 1. */
  readonly values: Float64Array;
  /** Curve after each point. */
  readonly curves: Uint8Array;
}

/** Time over which a level that steps, or a switch, is faded, linear in gain, from its place on: seconds. Common practice: 5 to 20 ms. */
const STEP_SECONDS = 0.01;

/** Index of the last point at or before a frame; -1: the frame is before the first. */
const lastAt = ({ frames }: PreparedLine, frame: number): number => {
  let [low, high] = [0, frames.length];
  while (low < high) {
    const middle = (low + high) >>> 1;
    if (frames[middle]! <= frame) low = middle + 1;
    else high = middle;
  }
  return low - 1;
};

/**
 * The value between two points, `x` 0..1 of the way; a, b the values.
 * linear: a + (b - a) x, and exponential: a (b / a) ^ x, both as the Web Audio API specification has the ramps of a parameter
 * (linearRampToValueAtTime, exponentialRampToValueAtTime); s-curve: a + (b - a) x² (3 - 2 x), level at both ends.
 * Levels are in dB, so "linear" moves the gain by equal factors.
 */
export const between = (curve: Curve, a: number, b: number, x: number): number => {
  if (curve === 'hold') return a;
  if (curve === 'linear') return a + (b - a) * x;
  if (curve === 'exponential') return a * (b / a) ** x;
  return a + (b - a) * x * x * (3 - 2 * x);
};

/** The value of a line at a frame of the song: before its first point that of the first, after its last that of the last. */
export const lineAt = (line: PreparedLine, frame: number): number => {
  const { frames, values, curves } = line;
  const last = lastAt(line, frame);
  if (last < 0) return values[0]!;
  if (last === frames.length - 1) return values[last]!;
  const x = (frame - frames[last]!) / (frames[last + 1]! - frames[last]!);
  return between(CURVES[curves[last]!]!, values[last]!, values[last + 1]!, x);
};

/** `gain` of a line at a frame; where the value steps it fades over `stepFrames`, or until the next point if that comes sooner. */
const steppedAt = (line: PreparedLine, frame: number, stepFrames: number, gain: (value: number) => number): number => {
  const { frames, values, curves } = line;
  const now = gain(lineAt(line, frame));
  const last = lastAt(line, frame);
  if (last < 1 || CURVES[curves[last - 1]!] !== 'hold' || values[last - 1] === values[last]) return now;
  const next = last + 1 < frames.length ? frames[last + 1]! - frames[last]! : Infinity;
  const fade = Math.min(stepFrames, next);
  const since = frame - frames[last]!;
  if (since >= fade) return now;
  const before = gain(values[last - 1]!);
  return before + (now - before) * (since / fade);
};

const asItIs = (value: number): number => value;

/** Linear gain of a line of levels, dB, at a frame of the song. */
export const levelAt = (line: PreparedLine, frame: number, sampleRate: number): number =>
  steppedAt(line, frame, STEP_SECONDS * sampleRate, faderGain);

/** Gain of a line of switches at a frame of the song: 0, 1, or in between while it fades. */
export const switchAt = (line: PreparedLine, frame: number, sampleRate: number): number =>
  steppedAt(line, frame, STEP_SECONDS * sampleRate, asItIs);

export const isSameLine = (a: PreparedLine | undefined, b: PreparedLine | undefined): boolean => a?.text === b?.text;
