import { nonNegative } from './non-negative.ts';
import type { SketchPlan } from './sketch-plan.ts';

/** A track that most of what is left goes with. */
export interface LeftoverOwner {
  /** Place of the track. */
  readonly track: number;
  /** What is left with it, beside its own sound in the rough, dB. */
  readonly levelDb: number;
}

/** What rings on from block to block falls by so much of its energy: as in a room of some two seconds. */
const RINGS_ON = 0.3;
/** Less than this part of the rough being left (-40 dB), nothing is told of it. */
const LEAST_LEFT = 1e-4;
/** A track owns what is left where it makes up this part of what all tracks explain of it, and has this likeness to it by itself (0..1). */
const [SHARE, LIKE] = [0.6, 0.6];

const total = (values: Float64Array): number => values.reduce((sum, value) => sum + value, 0);

/** Energies with what rings on from the blocks before (blocks x bands). */
const ringing = (energies: Float64Array, bands: number): Float64Array => {
  const out = energies.slice();
  for (let at = bands; at < out.length; at++) out[at]! += RINGS_ON * out[at - bands]!;
  return out;
};

/**
 * The track with which most of what is left comes and goes, in time and by band, as what an effect on it would; null: there is none.
 * By non-negative least squares of the energy that is left on the energies of the tracks, every band counting alike.
 *
 * @param left energy of what is left, `rough` of the whole, `tracks` of each track in the rough (blocks x bands)
 */
export const leftoverOwner = (
  { bands }: SketchPlan,
  left: Float64Array,
  rough: Float64Array,
  tracks: readonly Float64Array[],
): LeftoverOwner | null => {
  if (total(left) < LEAST_LEFT * total(rough)) return null;
  const width = bands.length;
  const mean = bands.map((_, b) => left.reduce((sum, energy, at) => (at % width === b ? sum + energy : sum), 0));
  const scaled = (energies: Float64Array): Float64Array =>
    energies.map((energy, at) => (mean[at % width]! > 0 ? energy / mean[at % width]! : 0));
  const target = scaled(left);
  const sources = tracks.map((energies) => scaled(ringing(energies, width)));
  const n = sources.length;
  const product = (a: Float64Array, b: Float64Array): number => a.reduce((sum, value, at) => sum + value * b[at]!, 0);
  const A = new Float64Array(n * n);
  sources.forEach((a, i) => {
    for (let j = 0; j <= i; j++) A[i * n + j] = A[j * n + i] = product(a, sources[j]!);
  });
  const b = Float64Array.from(sources, (source) => product(source, target));
  const parts = nonNegative(A, b, n, () => true).map((gain, k) => gain * total(sources[k]!));
  const most = parts.indexOf(Math.max(...parts));
  const likeness = b[most]! / Math.sqrt(Math.max(1e-30, A[most * (n + 1)]! * product(target, target)));
  if (!(parts[most]! > SHARE * total(parts)) || !(likeness > LIKE)) return null;
  return { track: most, levelDb: 10 * Math.log10(total(left) / Math.max(1e-30, total(tracks[most]!))) };
};
