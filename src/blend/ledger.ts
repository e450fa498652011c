import type { Audio } from '../dsp/audio.ts';
import { decibelsOf } from '../dsp/decibels.ts';
import { alignmentOf } from '../measure/alignment.ts';
import { changeOf, type FigureChange } from '../measure/change.ts';
import type { Figures } from '../measure/figures.ts';
import { levelsOf } from '../measure/levels.ts';
import { truePeakOf } from '../measure/true-peak.ts';
import { bandGramOf, type BandGram } from './band-gram.ts';
import { blendEnergy, blendFigures } from './blend-figures.ts';
import { gramOf, type Gram } from './gram.ts';
import { pairWeights } from './pairs.ts';
import { cancellationOf, sentenceOfPath } from './sentence.ts';
import { sharesOf } from './share.ts';

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
  readonly gram: Gram;
  readonly bands: BandGram;
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
export const ledgerBasisOf = (inputs: readonly LedgerInput[]): LedgerBasis => {
  const sounds = inputs.map(({ audio }) => audio);
  return {
    inputs,
    gram: gramOf(sounds),
    bands: bandGramOf(sounds),
    alignments: inputs.map((input) => alignmentOfPath(input, inputs)),
  };
};

/** Channels of the blend: each path times its gain, summed in double precision. */
const blendChannels = ({ inputs }: LedgerBasis, gains: readonly number[]): Float64Array[] =>
  [0, 1].map((channel) => {
    const sum = new Float64Array(inputs[0]?.audio.channels[channel]?.length ?? 0);
    inputs.forEach(({ audio }, i) => {
      const gain = gains[i]!;
      const samples = audio.channels[channel]!;
      if (gain !== 0) for (let n = 0; n < sum.length; n++) sum[n]! += gain * samples[n]!;
    });
    return sum;
  });

/** A channel of the blend without one path. A plain loop: a mapped copy took ten times as long. */
const lessPath = (channel: Float64Array, samples: Float32Array, gain: number): Float32Array => {
  const rest = new Float32Array(channel.length);
  for (let n = 0; n < rest.length; n++) rest[n] = channel[n]! - gain * samples[n]!;
  return rest;
};

/** The blend's figures: those of its energy from the products, those of single samples from its samples. */
const figuresOf = (basis: LedgerBasis, gains: readonly number[], channels: readonly Float32Array[]): Figures => {
  const blend = blendFigures(basis.gram, basis.bands, gains);
  const { peak, clippedSamples } = levelsOf(channels);
  const silent = !(peak > 0);
  const truePeakDbtp = silent ? null : decibelsOf(truePeakOf(channels).value);
  const samplePeakDbfs = silent ? null : decibelsOf(peak);
  return {
    ...blend,
    truePeakDbtp,
    samplePeakDbfs,
    crestDb: samplePeakDbfs === null || blend.rmsDbfs === null ? null : samplePeakDbfs - blend.rmsDbfs,
    plrDb: truePeakDbtp === null || blend.integratedLufs === null ? null : truePeakDbtp - blend.integratedLufs,
    clippedSamples,
  };
};

/** The mix of the paths at these gains (linear, in the order of the basis). */
export const mixFiguresOf = (basis: LedgerBasis, gains: readonly number[]): Figures =>
  figuresOf(
    basis,
    gains,
    blendChannels(basis, gains).map((channel) => new Float32Array(channel)),
  );

/** One row of the ledger at a time, so that a caller can show or stop the work between rows. */
export function* ledgerRows(basis: LedgerBasis, gains: readonly number[], mix: Figures): Generator<LedgerRow> {
  const channels = blendChannels(basis, gains);
  const shares = sharesOf(basis.gram, blendEnergy(basis.gram, pairWeights(gains)), gains);
  for (const [i, { id, audio }] of basis.inputs.entries()) {
    const gain = gains[i]!;
    const rest = channels.map((channel, n) => lessPath(channel, audio.channels[n]!, gain));
    const without = gain === 0 ? mix : figuresOf(basis, gains.with(i, 0), rest);
    const change = changeOf(without, mix);
    const cancellation = cancellationOf(without.bands, change.bands);
    yield {
      id,
      shareOfLoudness: shares[i]!,
      without,
      change,
      alignment: { ...basis.alignments[i]!, cancelsDb: cancellation.db },
      sentence: sentenceOfPath(change, cancellation, shares[i]!),
    };
  }
}

/** The whole ledger of a blend. */
export const ledgerOf = (basis: LedgerBasis, gains: readonly number[]): Ledger => {
  const mix = mixFiguresOf(basis, gains);
  return { mix, paths: [...ledgerRows(basis, gains, mix)] };
};
