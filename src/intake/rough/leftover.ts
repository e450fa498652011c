import { median } from './median.ts';
import { SIDES, type Sides } from './model.ts';
import { blockOf, blockSeconds, frameLength, type SketchPlan } from './sketch-plan.ts';

/** Energy of both sides in each band of each block (blocks x bands), bins that are not kept counted by those that are. */
export const bandEnergies = (plan: SketchPlan, sides: Sides<Float32Array>): Float64Array => {
  const { bands, bandStart, bandWeight, frames, blocks } = plan;
  const length = frameLength(plan);
  const out = new Float64Array(blocks * bands.length);
  for (let frame = 0; frame < frames; frame++) {
    const row = blockOf(plan, frame) * bands.length;
    for (let b = 0; b < bands.length; b++) {
      let sum = 0;
      for (const side of SIDES) {
        const channel = sides[side];
        const end = frame * length + 2 * bandStart[b + 1]!;
        for (let e = frame * length + 2 * bandStart[b]!; e < end; e++) sum += channel[e]! ** 2;
      }
      out[row + b]! += bandWeight[b]! * sum;
    }
  }
  return out;
};

const total = (values: Float64Array): number => values.reduce((sum, value) => sum + value, 0);

/** Energy over energy, dB, no lower than -200. */
export const ratioDb = (part: number, whole: number): number => 10 * Math.log10(Math.max(1e-20, part / whole));

/** Sound of the rough that is in no track. */
export interface Stranger {
  readonly startSeconds: number;
  readonly endSeconds: number;
  /** The third octave in which it is strongest. */
  readonly hz: number;
  /** Its level beside that of the whole rough in this stretch, dB. */
  readonly levelDb: number;
}

/** What the tracks leave of the rough. */
export interface Leftover {
  /** In each third octave beside the rough there, dB; null where the rough has nothing. */
  readonly bands: readonly { readonly hz: number; readonly levelDb: number | null }[];
  /** Over time beside the rough then, dB; null in pauses. */
  readonly course: readonly { readonly seconds: number; readonly levelDb: number | null }[];
  readonly strangers: readonly Stranger[];
}

/** Blocks and bands this far below the mean (-60 dB) tell nothing. */
const PAUSE = 1e-6;

/** @param left both sides of what is left, and `rough` of the whole, as `bandEnergies` gives them */
export const leftoverOf = (plan: SketchPlan, left: Float64Array, rough: Float64Array): Leftover => {
  const { bands, blocks } = plan;
  const sumOver = (energies: Float64Array, chosen: (block: number, band: number) => boolean): number => {
    let sum = 0;
    for (let at = 0; at < energies.length; at++) {
      if (chosen(Math.floor(at / bands.length), at % bands.length)) sum += energies[at]!;
    }
    return sum;
  };
  const all = total(rough);
  const told = (chosen: (block: number, band: number) => boolean, share: number): number | null => {
    const whole = sumOver(rough, chosen);
    return whole > (PAUSE * all) / share ? ratioDb(sumOver(left, chosen), whole) : null;
  };
  const seconds = blockSeconds(plan);
  return {
    bands: bands.map(({ hz }, b) => ({ hz, levelDb: told((_, band) => band === b, bands.length) })),
    course: Array.from({ length: blocks }, (_, n) => ({
      seconds: n * seconds,
      levelDb: told((block) => block === n, blocks),
    })),
    strangers: strangersIn(plan, left, rough),
  };
};

/** A stranger is this part of the rough in its band (-8 dB) and so many times what usually is left there. */
const [CLEAR, UNUSUAL] = [0.16, 6];
/** It lasts at least so many blocks, with pauses of so many. */
const [LASTING, PAUSES] = [3, 4];
/** It is no more than this below the rough in its stretch, dB. */
const FAINT = -30;

const strangersIn = (plan: SketchPlan, left: Float64Array, rough: Float64Array): Stranger[] => {
  const { bands, blocks } = plan;
  const mean = total(rough) / rough.length;
  const usual = bands.map((_, b) => {
    const parts: number[] = [];
    for (let n = 0; n < blocks; n++) {
      const at = n * bands.length + b;
      if (rough[at]! > PAUSE * mean) parts.push(left[at]! / rough[at]!);
    }
    return median(parts);
  });
  // What is left and unusual, as energy per block.
  const unusual = new Float64Array(left.length);
  for (let at = 0; at < left.length; at++) {
    const part = left[at]! / rough[at]!;
    if (rough[at]! > PAUSE * mean && part > CLEAR && part > UNUSUAL * usual[at % bands.length]!)
      unusual[at] = left[at]!;
  }
  const row = (energies: Float64Array, n: number): number =>
    total(energies.subarray(n * bands.length, (n + 1) * bands.length));
  const isOn = Array.from({ length: blocks }, (_, n) => ratioDb(row(unusual, n), row(rough, n)) > FAINT);
  const seconds = blockSeconds(plan);
  return runsOf(isOn).map(([from, to]) => {
    const span = (energies: Float64Array): Float64Array => energies.subarray(from * bands.length, to * bands.length);
    const byBand = bands.map((_, b) =>
      span(unusual).reduce((sum, energy, at) => (at % bands.length === b ? sum + energy : sum), 0),
    );
    return {
      startSeconds: from * seconds,
      endSeconds: to * seconds,
      hz: bands[byBand.indexOf(Math.max(...byBand))]!.hz,
      levelDb: ratioDb(total(span(unusual)), total(span(rough))),
    };
  });
};

/** Runs of `true`, short gaps filled, short runs left out: from and after. */
const runsOf = (on: readonly boolean[]): [number, number][] => {
  const runs: [number, number][] = [];
  on.forEach((is, n) => {
    const last = runs.at(-1);
    if (!is) return;
    if (last && n - last[1] <= PAUSES) last[1] = n + 1;
    else runs.push([n, n + 1]);
  });
  return runs.filter(([from, to]) => to - from >= LASTING);
};
