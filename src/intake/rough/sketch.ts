import { framesOf, type Sound } from '../../audio/audio.ts';
import { placedSamples, STRETCH, type Samples } from '../../audio/samples.ts';
import { midSideTransformer } from '../../measure/stereo/mid-side-transform.ts';
import { frameLength, type SketchPlan } from './sketch-plan.ts';

/** What is kept of a sound: one array a channel, frame after frame, each real and imaginary parts of the kept bins. */
export interface Sketch {
  /** One or two; one where both channels of the sound were the same. */
  readonly channels: readonly Float32Array[];
}

/** Where frame `n` of the song lies in the sound, samples and parts of one; null: nowhere. */
export type Position = (frame: number) => number | null;

/** Whether both are the same to the last bit. */
const isSame = (a: Samples, b: Samples): boolean => {
  for (let from = 0; from < a.length; from += STRETCH) {
    const to = Math.min(a.length, from + STRETCH);
    const [one, other] = [a.subarray(from, to), b.subarray(from, to)];
    for (let n = 0; n < one.length; n++) if (one[n] !== other[n]) return false;
  }
  return true;
};

/** The channels that differ: of two equal ones, one. */
const distinctChannels = ({ channels }: Sound): readonly Samples[] => {
  const [left, right] = channels;
  return left && right && !isSame(left, right) ? [left, right] : [left!];
};

/** The `size` samples from `start` on, silent where there are none. */
const windowOf = (samples: Samples, start: number, size: number): Float32Array =>
  placedSamples(samples, -start, size).subarray(0, size);

/**
 * The sketch of a sound of one or two channels at the plan's rate, frames taken at `position`. A frame that lies between
 * two samples is taken at the nearest and turned in phase by the rest (shift theorem; the window then stands up to half
 * a sample aside, -74 dB).
 */
export const sketchOf = (plan: SketchPlan, sound: Sound, position: Position): Sketch => {
  const [left, right] = distinctChannels(sound);
  const transform = midSideTransformer(plan.size);
  const length = frameLength(plan);
  const mid = new Float32Array(plan.size + 2);
  const side = new Float32Array(plan.size + 2);
  const out = (right ? [left, right] : [left]).map(() => new Float32Array(plan.frames * length));
  for (let frame = 0; frame < plan.frames; frame++) {
    const at = position(frame);
    if (at === null || at <= -plan.size || at >= framesOf(sound)) continue;
    const start = Math.round(at);
    const [one, other] = [left, right].map((samples) => samples && windowOf(samples, start, plan.size));
    transform(one!, other ?? one!, 0);
    transform.separate(mid, side);
    const turn = (2 * Math.PI * (at - start)) / plan.size;
    out.forEach((channel, c) => keepBins(plan, mid, side, c === 0 ? 1 : -1, turn, channel, frame * length));
  }
  return { channels: out };
};

/** Left is mid + side, right mid - side; bin k is turned by k times `turn`. */
const keepBins = (
  { bins }: SketchPlan,
  mid: Float32Array,
  side: Float32Array,
  sign: 1 | -1,
  turn: number,
  out: Float32Array,
  to: number,
): void => {
  for (let n = 0; n < bins.length; n++) {
    const bin = bins[n]!;
    const re = mid[2 * bin]! + sign * side[2 * bin]!;
    const im = mid[2 * bin + 1]! + sign * side[2 * bin + 1]!;
    const cos = Math.cos(turn * bin);
    const sin = Math.sin(turn * bin);
    out[to + 2 * n] = re * cos - im * sin;
    out[to + 2 * n + 1] = re * sin + im * cos;
  }
};
