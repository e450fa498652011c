import { framesOf, type Audio } from '../../audio/audio.ts';
import { changeOf, type FigureChange } from '../../measure/change.ts';
import { noFigures, peakFiguresOf, type Figures } from '../../measure/figures.ts';
import { flagsOf, type Flag } from './flags.ts';
import { buildSteps, type FrameRange, type GramQuery, type QueryPath } from '../gram/make-blend-query.ts';
import { lowsResemble } from '../gram/band-gram.ts';
import { heardAlignment, pathAlignment, twinAlignment, type PathAlignment } from './path-alignment.ts';
import { cancellationsOf, HEARD_CANCELLATION_DB, sentenceOfPath, worstOf } from './sentence.ts';

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
  /**
   * What the path does to the mix as received, alone: a bus at its blend is added, a group at its fader takes the place
   * of its tracks as received. null where the mix as received is not known.
   */
  readonly firstIn: FigureChange | null;
  readonly alignment: PathAlignment & {
    /** The most that the path lowers any audible third octave of the mix, dB, at most 0. */
    readonly cancelsDb: number;
    /** The audible third octaves that it lowers by half a decibel or more. */
    readonly cancels: readonly { readonly hz: number; readonly db: number }[];
  };
  /** What asks for a look, with a way out; empty when all is well. */
  readonly flags: readonly Flag[];
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
  /** Ids of the groups whose sound as received is known; it stands behind the paths in the query. */
  readonly received: readonly string[];
  readonly query: GramQuery;
  readonly alignments: readonly PathAlignment[];
}

/** What a ledger can be made of beside the paths themselves. */
export interface LedgerOptions {
  /** The groups as received, by their ids: tracks with no chains, faders at 0 dB. As long as the paths. */
  readonly received?: readonly QueryPath[];
  /** The section that figures are of; alignments are always of the whole. */
  readonly range?: FrameRange;
}

/**
 * Measures the paths against each other, step by step; each step yields the part done, 0..1. Takes about a second for each
 * minute of ten paths.
 */
export function* ledgerBasisSteps(
  inputs: readonly LedgerInput[],
  { received = [], range }: LedgerOptions = {},
): Generator<number, LedgerBasis> {
  const query = yield* buildSteps([...inputs, ...received], range);
  return {
    inputs,
    received: received.map(({ id }) => id),
    query,
    alignments: yield* alignmentSteps(inputs, query, null),
  };
}

/**
 * The basis of paths whose query is made; what lies as it lay `before` (the same object is the same sound) is taken over.
 * Each step yields the part done, 0..1.
 */
export function* basisOfQuerySteps(
  inputs: readonly LedgerInput[],
  query: GramQuery,
  before: LedgerBasis | null,
): Generator<number, LedgerBasis> {
  return { inputs, received: [], query, alignments: yield* alignmentSteps(inputs, query, before) };
}

/** What a path is held against: what it doubles, or else paths before it that may be one sound with it. */
const heldAgainst = (inputs: readonly LedgerInput[], query: GramQuery, index: number): readonly LedgerInput[] => {
  const { doubles } = inputs[index]!;
  if (doubles.length > 0) return inputs.filter(({ id }) => doubles.includes(id));
  return inputs
    .slice(0, index)
    .filter((other, n) => other.doubles.length === 0 && lowsResemble(query.bands, index, n, query.ids.length));
};

const isSamePath = (one: LedgerInput, other: LedgerInput | undefined): boolean =>
  one.id === other?.id && one.audio === other.audio && one.doubles.length > 0 === other.doubles.length > 0;

/** How a path lay before, if it was held against the same sounds then, wherever it stood. */
const knownAlignment = (
  before: LedgerBasis | null,
  input: LedgerInput,
  others: readonly LedgerInput[],
): PathAlignment | null => {
  const place = before?.inputs.findIndex((old) => isSamePath(input, old)) ?? -1;
  if (!before || place < 0) return null;
  const old = heldAgainst(before.inputs, before.query, place);
  const isSame = old.length === others.length && others.every((other, n) => isSamePath(other, old[n]));
  return isSame ? before.alignments[place]! : null;
};

/** How each path lies; what was held against the same sounds before is kept. */
function* alignmentSteps(
  inputs: readonly LedgerInput[],
  query: GramQuery,
  before: LedgerBasis | null,
): Generator<number, readonly PathAlignment[]> {
  const alignments: PathAlignment[] = [];
  for (const [n, input] of inputs.entries()) {
    const others = heldAgainst(inputs, query, n);
    const measured = input.doubles.length > 0 ? pathAlignment : twinAlignment;
    alignments.push(knownAlignment(before, input, others) ?? measured(input, others));
    yield 1;
  }
  return alignments;
}

/** Gains of the query's paths: those of the paths, and those of the groups as received. */
const allGains = (gains: readonly number[], received: readonly number[]): number[] => [...gains, ...received];

/** Whether a path is heard through a bus that has its twin in it too, where the two meet whatever its own level. */
const meetsTwin = (
  inputs: readonly LedgerInput[],
  gains: readonly number[],
  id: string,
  { against }: PathAlignment,
): boolean =>
  inputs.some(
    ({ doubles }, n) => gains[n] !== 0 && doubles.includes(id) && against.some((twin) => doubles.includes(twin)),
  );

const NO_PEAKS = peakFiguresOf(noFigures(null, []));

/** A blend without the figures of its peaks: those are null. About a millisecond, where all of them take ten. */
const withoutPeaks = (query: GramQuery, gains: readonly number[]): Figures => ({
  ...query.figures(gains),
  ...NO_PEAKS,
});

/** The mix of the paths at these gains (linear, in the order of the basis); without `peaks`, those are null. */
export const mixFiguresOf = ({ query, received }: LedgerBasis, gains: readonly number[], peaks = true): Figures => {
  const blend = allGains(
    gains,
    received.map(() => 0),
  );
  return peaks ? query.allFigures(blend) : withoutPeaks(query, blend);
};

/** What each path does to the mix as received. */
const firstInOf = (basis: LedgerBasis, gains: readonly number[]): ((index: number) => FigureChange | null) => {
  const { inputs, received, query } = basis;
  if (received.length === 0) return () => null;
  const none = gains.map(() => 0);
  const before = query.allFigures(
    allGains(
      none,
      received.map(() => 1),
    ),
  );
  return (index) => {
    const { id } = inputs[index]!;
    const others = received.map((group) => (group === id ? 0 : 1));
    return changeOf(before, query.allFigures(allGains(none.with(index, gains[index]!), others)));
  };
};

/** How each path lies against what is heard at these gains. */
const heardAlignments = (
  { inputs, alignments }: LedgerBasis,
  gains: readonly number[],
): ((index: number) => PathAlignment) => {
  const heard = new Set(inputs.flatMap(({ id }, n) => (gains[n] === 0 ? [] : [id])));
  const groups = new Map(inputs.flatMap(({ id, doubles }, n) => (doubles.length > 0 ? [] : [[id, alignments[n]!]])));
  const isHeard = (id: string): boolean => heard.has(id);
  return (index) => {
    const alignment = alignments[index]!;
    return inputs[index]!.doubles.length > 0 ? heardAlignment(alignment, groups, isHeard) : alignment;
  };
};

/**
 * One row of the ledger at a time, so that a caller can show or stop the work between rows. `peaks` false: figures that
 * hang on single samples are null, which is much quicker; neither is a path then held against the mix as received.
 */
export function* ledgerRows(
  basis: LedgerBasis,
  gains: readonly number[],
  mix: Figures,
  peaks = true,
): Generator<LedgerRow> {
  const { inputs, query, received } = basis;
  const silent = received.map(() => 0);
  const shares = query.shares(allGains(gains, silent));
  const firstIn = peaks ? firstInOf(basis, gains) : () => null;
  const measured = (blend: readonly number[]): Figures =>
    peaks ? query.allFigures(blend) : withoutPeaks(query, blend);
  const alignmentOf = heardAlignments(basis, gains);
  for (const [i, { id }] of inputs.entries()) {
    const alignment = alignmentOf(i);
    const without = gains[i] === 0 ? mix : measured(allGains(gains.with(i, 0), silent));
    const change = changeOf(without, mix);
    const cancellations = cancellationsOf(without.bands, change.bands);
    const worst = worstOf(cancellations);
    const share = shares[i]!;
    const isTold = gains[i] !== 0 || meetsTwin(inputs, gains, id, alignment);
    yield {
      id,
      shareOfLoudness: share,
      without,
      change,
      firstIn: firstIn(i),
      alignment: {
        ...alignment,
        cancelsDb: worst.db,
        cancels: cancellations.filter(({ db }) => db < HEARD_CANCELLATION_DB),
      },
      flags: isTold ? flagsOf(share, alignment, worst, query.sampleRate) : [],
      sentence: sentenceOfPath(change, worst, share),
    };
  }
}

/** The whole ledger of a blend. */
export const ledgerOf = (basis: LedgerBasis, gains: readonly number[]): Ledger => {
  const mix = mixFiguresOf(basis, gains);
  return { mix, paths: [...ledgerRows(basis, gains, mix)] };
};

/** A sound made `frames` long: cut, or with silence behind it. Stereo. */
export const fitted = (audio: Audio, frames: number): Audio => ({
  sampleRate: audio.sampleRate,
  channels: audio.channels.map((channel) => {
    if (framesOf(audio) >= frames) return channel.subarray(0, frames);
    const longer = new Float32Array(frames);
    longer.set(channel);
    return longer;
  }),
});
