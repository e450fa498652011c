import type { Audio } from '../dsp/audio.ts';
import { alignmentOf } from '../measure/alignment.ts';
import { changeOf, type FigureChange } from '../measure/change.ts';
import type { Figures } from '../measure/figures.ts';
import type { BlendQuery } from './blend-query.ts';
import { makeBlendQuery } from './make-blend-query.ts';
import { cancellationOf, sentenceOfPath } from './sentence.ts';

/** How a path lies against the sound that it doubles. */
export interface PathAlignment {
  /** Whole samples by which it is late; null when it doubles nothing, or shares too little with it to say. */
  readonly lagSamples: number | null;
  readonly polarity: 1 | -1;
}

/** One rendered path as the ledger reads it. */
export interface LedgerInput {
  readonly id: string;
  /** Stereo, all of one rate and length. */
  readonly audio: Audio;
  /** Other paths whose sound it is made of: what a bus doubles. */
  readonly doubles: readonly string[];
}

/** What one path does to the mix, before the mix bus. */
export interface LedgerRow {
  readonly id: string;
  /** Part of the mix's gated K-weighted energy; 1 is all of it, below 0 the path cancels the others. null in silence. */
  readonly shareOfLoudness: number | null;
  /** The mix without the path. */
  readonly without: Figures;
  /** The mix with the path less the mix without it. */
  readonly change: FigureChange;
  readonly alignment: PathAlignment & {
    /** The most that the path lowers any audible third octave of the mix, dB, at most 0. */
    readonly cancelsDb: number;
  };
  readonly sentence: string;
}

export interface Ledger {
  /** The blend of all paths, before the mix bus. */
  readonly mix: Figures;
  readonly paths: readonly LedgerRow[];
}

/** All that a ledger needs of the paths, whatever their blend: made once for each render. */
export interface LedgerBasis {
  readonly inputs: readonly LedgerInput[];
  readonly query: BlendQuery;
  readonly alignments: readonly PathAlignment[];
}

/** Mid of one or several stereo sounds, summed. */
const midOf = (sounds: readonly Audio[]): Float32Array => {
  const mid = new Float32Array(sounds[0]?.channels[0]?.length ?? 0);
  for (const { channels } of sounds) {
    const left = channels[0]!;
    const right = channels[1]!;
    for (let n = 0; n < mid.length; n++) mid[n]! += (left[n]! + right[n]!) / 2;
  }
  return mid;
};

/** A path with less than this of its energy in the middle has no mid to lie early or late with. */
const LEAST_MID = 0.01;

const hasMid = ({ channels }: Audio, mid: Float32Array): boolean => {
  let middle = 0;
  let whole = 0;
  for (let n = 0; n < mid.length; n++) {
    middle += 2 * mid[n]! * mid[n]!;
    whole += channels[0]![n]! * channels[0]![n]! + channels[1]![n]! * channels[1]![n]!;
  }
  return middle > LEAST_MID * whole;
};

const alignmentOfPath = ({ audio, doubles }: LedgerInput, inputs: readonly LedgerInput[]): PathAlignment => {
  const doubled = inputs.filter(({ id }) => doubles.includes(id)).map((path) => path.audio);
  const mid = midOf([audio]);
  const found = doubled.length > 0 && hasMid(audio, mid) ? alignmentOf(midOf(doubled), mid) : null;
  return { lagSamples: found?.lagSamples ?? null, polarity: found?.polarity ?? 1 };
};

/** Measures the paths against each other. Takes about a second for each minute of ten paths. */
export const ledgerBasisOf = (inputs: readonly LedgerInput[]): LedgerBasis => ({
  inputs,
  query: makeBlendQuery(inputs),
  alignments: inputs.map((input) => alignmentOfPath(input, inputs)),
});

/** The mix of the paths at these gains (linear, in the order of the basis). */
export const mixFiguresOf = ({ query }: LedgerBasis, gains: readonly number[]): Figures => query.allFigures(gains);

/** One row of the ledger at a time, so that a caller can show or stop the work between rows. */
export function* ledgerRows(
  { inputs, query, alignments }: LedgerBasis,
  gains: readonly number[],
  mix: Figures,
): Generator<LedgerRow> {
  const shares = query.shares(gains);
  for (const [i, { id }] of inputs.entries()) {
    const without = gains[i] === 0 ? mix : query.allFigures(gains.with(i, 0));
    const change = changeOf(without, mix);
    const cancellation = cancellationOf(without.bands, change.bands);
    yield {
      id,
      shareOfLoudness: shares[i]!,
      without,
      change,
      alignment: { ...alignments[i]!, cancelsDb: cancellation.db },
      sentence: sentenceOfPath(change, cancellation, shares[i]!),
    };
  }
}

/** The whole ledger of a blend. */
export const ledgerOf = (basis: LedgerBasis, gains: readonly number[]): Ledger => {
  const mix = mixFiguresOf(basis, gains);
  return { mix, paths: [...ledgerRows(basis, gains, mix)] };
};
