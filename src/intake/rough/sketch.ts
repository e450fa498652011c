import type { Audio } from '../../audio/audio.ts';
import { midSideTransformer } from '../../measure/mid-side-transform.ts';
import { frameLength, type SketchPlan } from './sketch-plan.ts';

/** What is kept of a sound: one array a channel, frame after frame, each real and imaginary parts of the kept bins. */
export interface Sketch {
  /** One or two; one where both channels of the sound were the same. */
  readonly channels: readonly Float32Array[];
}

/** Where frame `n` of the song lies in the sound, samples and parts of one; null: nowhere. */
export type Position = (frame: number) => number | null;

const isSame = (a: Float32Array, b: Float32Array): boolean => {
  for (let n = 0; n < a.length; n++) if (a[n] !== b[n]) return false;
  return true;
};

/** The channels that differ: of two equal ones, one. */
export const distinctChannels = ({ channels }: Audio): readonly Float32Array[] => {
  const [left, right] = channels;
  return left && right && !isSame(left, right) ? [left, right] : [left!];
};

/**
 * The sketch of a sound of one or two channels at the plan's rate, frames taken at `position`. A frame that lies between
 * two samples is taken at the nearest and turned in phase by the rest (shift theorem; the window then stands up to half
 * a sample aside, -74 dB).
 */
export const sketchOf = (plan: SketchPlan, audio: Audio, position: Position): Sketch => {
  const [left, right] = distinctChannels(audio);
  const transform = midSideTransformer(plan.size);
  const length = frameLength(plan);
  const mid = new Float32Array(plan.size + 2);
  const side = new Float32Array(plan.size + 2);
  const out = (right ? [left, right] : [left]).map(() => new Float32Array(plan.frames * length));
  for (let frame = 0; frame < plan.frames; frame++) {
    const at = position(frame);
    if (at === null || at <= -plan.size || at >= left!.length) continue;
    const start = Math.round(at);
    transform(left!, right ?? left!, start);
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
