import { placedSound, type Audio, type Sound } from '../../audio/audio.ts';
import { changeOf, type FigureChange } from '../../measure/change.ts';
import { noFigures, peakFiguresOf, type BandFigures, type Figures } from '../../measure/figures.ts';
import type { PathOrigin } from '../../dsp/core/arrival.ts';
import { correlationOf } from './correlation.ts';
import { flagsOf, type Flag } from './flags.ts';
import { buildOnceSteps, type FrameRange, type GramQuery, type QueryPath } from '../gram/make-blend-query.ts';
import { alignmentsOf, twinSteps, type PathAlignment, type Twin } from './path-alignment.ts';
import { HEARD_CANCELLATION_DB, loweredBands, sentenceOfPath, worstOf, type Lowered } from './sentence.ts';

/** One rendered path as the ledger reads it. */
export interface LedgerInput extends PathOrigin {
  readonly id: string;
  /** Stereo, all of one rate and length. */
  readonly audio: Sound;
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
   * Change that the path alone makes to the mix as received: a bus is added at its blend, a group at its fader replaces
   * its tracks as received. null where the mix as received is not known.
   */
  readonly firstIn: FigureChange | null;
  readonly alignment: PathAlignment & {
    /** Largest reduction that the path causes in any audible third octave of what it doubles (or of the mix if it doubles nothing), dB, at most 0. */
    readonly cancelsDb: number;
    /** The audible third octaves that it lowers by half a decibel or more. */
    readonly cancels: readonly Lowered[];
  };
  /** Possible faults, each with what to do; empty if there are none. */
  readonly flags: readonly Flag[];
  readonly sentence: string;
}

export interface Ledger {
  /** The blend of all paths, before the mix bus. */
  readonly mix: Figures;
  readonly paths: readonly LedgerRow[];
}

/** Measurements of the paths that do not depend on their blends: made once for each render. */
export interface LedgerBasis {
  readonly inputs: readonly LedgerInput[];
  /** Ids of the groups whose sound as received is known; these sounds follow the paths in the query. */
  readonly received: readonly string[];
  readonly query: GramQuery;
  /** Groups that hold the same sound as another group, by their ids. */
  readonly twins: ReadonlyMap<string, Twin>;
}

/** Optional inputs of a ledger. */
export interface LedgerOptions {
  /** The groups as received, by their ids: tracks with no chains, faders at 0 dB. As long as the paths. */
  readonly received?: readonly QueryPath[];
  /** The section that is measured; alignment is always measured over the whole song. */
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
  const query = yield* buildOnceSteps([...inputs, ...received], range);
  return {
    inputs,
    received: received.map(({ id }) => id),
    query,
    twins: yield* twinSteps(received, query, inputs.length),
  };
}

/** Gains of all sounds in the query: first the paths, then the groups as received. */
const allGains = (gains: readonly number[], received: readonly number[]): number[] => [...gains, ...received];

/** Whether a path and its twin both feed a bus that is heard: there they are summed, whatever the path's own level. */
const meetsTwin = (
  inputs: readonly LedgerInput[],
  gains: readonly number[],
  id: string,
  { against }: PathAlignment,
): boolean =>
  inputs.some(
    ({ doubles }, n) => gains[n] !== 0 && [[id], against].every((ids) => doubles.some((each) => ids.includes(each.id))),
  );

const NO_PEAKS = peakFiguresOf(noFigures(null, []));

/** Figures of a blend with peaks and clipped samples left null: about 1 ms instead of 10 ms. */
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

/** Change that each path makes to the mix as received. */
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

/** Alignment of each path with what is heard at these gains. */
const heardAlignments = ({ inputs, twins }: LedgerBasis, gains: readonly number[]): readonly PathAlignment[] => {
  const heard = new Set(inputs.flatMap(({ id }, n) => (gains[n] === 0 ? [] : [id])));
  return alignmentsOf(inputs, twins, (id) => heard.has(id));
};

/** How a path sums with what it doubles. */
interface Meeting {
  readonly lowered: readonly Lowered[];
  /** Correlation of the two, 0..1; null where it doubles nothing that is heard. */
  readonly correlation: number | null;
}

/**
 * The third octaves that a path lowers, and its correlation: against the part of what it doubles that is heard, or against the whole
 * mix where it doubles nothing. (Against the whole mix, a notch in the drums could be masked by other paths.)
 */
const meetingOf = (
  { inputs, query, received }: LedgerBasis,
  gains: readonly number[],
  index: number,
  { against }: PathAlignment,
): Meeting => {
  const doubled = new Set([...inputs[index]!.doubles.map(({ id }) => id), ...against]);
  const isHeard = gains.some((gain, n) => gain !== 0 && doubled.has(inputs[n]!.id));
  const beside = gains.map((gain, n) => (n !== index && (!isHeard || doubled.has(inputs[n]!.id)) ? gain : 0));
  const bandsOf = (blend: readonly number[]): readonly BandFigures[] =>
    query.essentials(
      allGains(
        blend,
        received.map(() => 0),
      ),
    ).bands;
  const source = bandsOf(beside);
  const together = bandsOf(beside.with(index, gains[index]!));
  const lowered = loweredBands(source, together);
  if (!isHeard || inputs[index]!.doubles.length === 0) return { lowered, correlation: null };
  const alone = bandsOf(gains.map((gain, n) => (n === index ? gain : 0)));
  return { lowered, correlation: correlationOf(source, alone, together) };
};

/**
 * One row of the ledger at a time, so that a caller can show rows or stop between them. `peaks` false: figures of
 * single samples are null, which is much quicker, and the change to the mix as received is left out. `nameOf` gives
 * the name of a path in sentences.
 */
export function* ledgerRows(
  basis: LedgerBasis,
  gains: readonly number[],
  mix: Figures,
  peaks = true,
  nameOf = (id: string): string => id,
): Generator<LedgerRow> {
  const { inputs, query, received } = basis;
  const silent = received.map(() => 0);
  const shares = query.shares(allGains(gains, silent));
  const firstIn = peaks ? firstInOf(basis, gains) : () => null;
  const measured = (blend: readonly number[]): Figures =>
    peaks ? query.allFigures(blend) : withoutPeaks(query, blend);
  const alignments = heardAlignments(basis, gains);
  for (const [i, { id }] of inputs.entries()) {
    const alignment = alignments[i]!;
    const without = gains[i] === 0 ? mix : measured(allGains(gains.with(i, 0), silent));
    const change = changeOf(without, mix);
    const { lowered, correlation } = meetingOf(basis, gains, i, alignment);
    const worst = worstOf(lowered);
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
        cancels: lowered.filter(({ db }) => db < HEARD_CANCELLATION_DB),
      },
      flags: isTold ? flagsOf({ share, alignment, worst, correlation, sampleRate: query.sampleRate, nameOf }) : [],
      sentence: sentenceOfPath(change, worst, share),
    };
  }
}

/** The whole ledger of a blend; `nameOf` gives the name of a path in sentences. */
export const ledgerOf = (basis: LedgerBasis, gains: readonly number[], nameOf?: (id: string) => string): Ledger => {
  const mix = mixFiguresOf(basis, gains);
  return { mix, paths: [...ledgerRows(basis, gains, mix, true, nameOf)] };
};

/** A sound made `frames` long: cut, or with silence after it. Stereo. */
export function fitted(audio: Audio, frames: number): Audio;
export function fitted(audio: Sound, frames: number): Sound;
export function fitted(audio: Sound, frames: number): Sound {
  return placedSound(audio, 0, frames);
}
