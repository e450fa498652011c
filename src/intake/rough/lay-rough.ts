import { framesOf, type Sound } from '../../audio/audio.ts';
import type { LagCourse } from './lag-course.ts';
import type { Sides } from './model.ts';
import { sketchOf, type Position, type Sketch } from './sketch.ts';
import { frameLength, type SketchPlan } from './sketch-plan.ts';

/** So near to a cut, seconds, the rough fades from one piece to the next, and the place of the cut is not known. */
const AROUND_CUT = 0.15;

/** Where the frames of the song lie in the rough; null: in none of its pieces. */
export const positionsOf = (plan: SketchPlan, stretches: LagCourse['stretches']): Position => {
  const { hop, sampleRate, size } = plan;
  const long = size / sampleRate;
  return (frame) => {
    const seconds = (frame * hop) / sampleRate;
    const own = stretches.find(
      ({ startSeconds, endSeconds }, n) =>
        (n === 0 || seconds >= startSeconds + AROUND_CUT) &&
        (n === stretches.length - 1 || seconds + long <= endSeconds - AROUND_CUT),
    );
    return own ? frame * hop + (own.lagSeconds + own.drift * seconds) * sampleRate : null;
  };
};

/** The same without the frames that reach beyond the beginning or the end of the rough. */
export const withinRough =
  ({ size }: SketchPlan, position: Position, roughFrames: number): Position =>
  (frame) => {
    const at = position(frame);
    return at === null || at < -1 || at > roughFrames - size + 1 ? null : at;
  };

/**
 * Silences the tracks' sketches in the frames that are not in the rough, so that nothing is asked of the rough there. They are changed
 * as they stand, for of a long song they are most of what is in memory; what is given back puts them as they were.
 */
export const silenceOutside = (plan: SketchPlan, sketches: readonly Sketch[], position: Position): (() => void) => {
  const length = frameLength(plan);
  const out = Array.from({ length: plan.frames }, (_, frame) => frame).filter((frame) => position(frame) === null);
  const parts = sketches.flatMap(({ channels }) =>
    channels.flatMap((channel) => out.map((frame) => channel.subarray(frame * length, (frame + 1) * length))),
  );
  const before = parts.map((part) => part.slice());
  for (const part of parts) part.fill(0);
  return () => parts.forEach((part, n) => part.set(before[n]!));
};

/** The rough's sketch where it lies, turned upright; silence where it does not. */
export const roughSides = (plan: SketchPlan, rough: Sound, { stretches, polarity }: LagCourse): Sides<Float32Array> => {
  const position = withinRough(plan, positionsOf(plan, stretches), framesOf(rough));
  const { channels } = sketchOf(plan, rough, position);
  const sides = channels.map((channel) => (polarity < 0 ? channel.map((value) => -value) : channel));
  return [sides[0]!, sides[1] ?? sides[0]!];
};
