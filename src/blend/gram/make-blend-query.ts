import { framesOf, placedSound, type Sound } from '../../audio/audio.ts';
import { decibelsOf } from '../../audio/decibels.ts';
import { finished, partOf } from '../../audio/steps.ts';
import { figuresOfPeaks, noFigures, type Figures } from '../../measure/figures.ts';
import { correlationOf } from '../../measure/stereo/stereo.ts';
import { bandGramSteps, blendSpectrum, type BandGram } from './band-gram.ts';
import { BandKeeper, FEW, placesAmong } from './band-keeper.ts';
import { blendEssentials, type BlendEssentials, type BlendFigures } from './blend-figures.ts';
import { BlendLoudness } from './blend-loudness.ts';
import type { BlendQuery } from './blend-query.ts';
import { gramRowSteps } from './gram-row.ts';
import { arrangedGram, gramSteps, type Gram } from './gram.ts';
import { isInPlace, pairWeights, type Places } from './pairs.ts';
import { frameLayout, passingSpectra } from './path-spectra.ts';
import { peakBoundsOf, type PeakBounds } from '../peaks/peak-bounds.ts';
import { PeakSearch } from '../peaks/peak-search.ts';
import { sharesOf } from './share.ts';

/** A rendered path: stereo, all of one rate and length. */
export interface QueryPath<S extends Sound = Sound> {
  readonly id: string;
  readonly audio: S;
}

/** A range of frames of the paths. A section is the sound cut to this range and measured on its own. */
export interface FrameRange {
  readonly fromFrame: number;
  readonly toFrame: number;
}

/** One path and the bounds of its peaks. */
interface BoundedPath extends QueryPath {
  readonly bounds: PeakBounds;
}

/** One half of a query, which is read from the sound as it runs: peaks, and products in short blocks. */
export interface TimeProducts {
  readonly paths: readonly BoundedPath[];
  readonly gram: Gram;
}

/** The blend query of some paths, built from its two halves; `keeper` is given where the bands were computed here and can be updated. */
export class GramQuery implements BlendQuery {
  readonly ids: readonly string[];
  readonly sampleRate: number;
  readonly frames: number;
  private readonly gram: Gram;
  private readonly loudness: BlendLoudness;
  private readonly peaks: PeakSearch;
  private readonly bounds: readonly PeakBounds[];

  constructor(
    readonly time: TimeProducts,
    readonly bands: BandGram,
    readonly keeper: BandKeeper | null,
  ) {
    const { paths, gram } = time;
    this.ids = paths.map(({ id }) => id);
    this.sampleRate = gram.sampleRate;
    this.frames = gram.frames;
    this.gram = gram;
    this.loudness = new BlendLoudness(gram);
    this.bounds = paths.map(({ bounds }) => bounds);
    this.peaks = new PeakSearch(
      paths.map(({ audio }) => audio),
      this.bounds,
    );
  }

  essentials(gains: readonly number[]): BlendEssentials {
    const weights = this.weightsOf(gains);
    return blendEssentials(this.gram, this.bands, this.bounds, this.loudness.take(weights), gains, weights);
  }

  figures(gains: readonly number[]): BlendFigures {
    const essentials = this.essentials(gains);
    return {
      ...essentials,
      maxMomentaryLufs: this.loudness.maxMomentary(),
      maxShortTermLufs: this.loudness.maxShortTerm(),
    };
  }

  allFigures(gains: readonly number[]): Figures {
    const blend = this.figures(gains);
    const peak = this.peaks.samplePeak(gains);
    if (!(peak > 0)) return noFigures(blend.dcOffset === null ? null : 0, blend.bands);
    const samplePeakDbfs = decibelsOf(peak);
    const truePeakDbtp = decibelsOf(this.peaks.truePeak(gains, peak));
    return {
      ...blend,
      truePeakDbtp,
      samplePeakDbfs,
      ...figuresOfPeaks({ ...blend, samplePeakDbfs, truePeakDbtp }),
      clippedSamples: this.peaks.clippedSamples(gains),
    };
  }

  truePeakDbtp(gains: readonly number[]): number | null {
    this.check(gains);
    const peak = this.peaks.samplePeak(gains);
    return peak > 0 ? decibelsOf(this.peaks.truePeak(gains, peak)) : null;
  }

  lowsCorrelation(gains: readonly number[]): number | null {
    const { lows } = blendSpectrum(this.bands, this.weightsOf(gains));
    return lows ? correlationOf({ ...lows, mid: 0, side: 0 }) : null;
  }

  shares(gains: readonly number[]): readonly (number | null)[] {
    return sharesOf(this.gram, this.loudness.take(this.weightsOf(gains)).timesCounted(), gains);
  }

  private weightsOf(gains: readonly number[]): Float64Array {
    this.check(gains);
    return pairWeights(gains);
  }

  private check(gains: readonly number[]): void {
    const { length } = this.ids;
    if (gains.length === length && gains.every((gain) => Number.isFinite(gain))) return;
    throw new RangeError(`a blend of ${length} paths needs as many finite gains, not ${gains.length}`);
  }
}

const cut = (audio: Sound, range: FrameRange | undefined): Sound =>
  range ? placedSound(audio, -range.fromFrame, Math.min(range.toFrame, framesOf(audio)) - range.fromFrame) : audio;

/** Computes the bounds of a path's peaks: at once, or when a peak is first asked for. */
type BoundsOf = (path: Sound) => PeakBounds;

const bounded = ({ id, audio }: QueryPath, boundsOf: BoundsOf): BoundedPath => ({ id, audio, bounds: boundsOf(audio) });

/** Share of the time that the time half takes: for progress. */
const TIME = 0.45;

/**
 * The half of a query that is read from the sound as it runs, step by step; each step yields the part done, 0..1. The
 * paths' samples are referred to, not copied.
 * @throws RangeError when there is no path, one is not stereo, or rates or lengths differ
 */
function* timeSteps(
  paths: readonly QueryPath[],
  range?: FrameRange,
  boundsOf: BoundsOf = peakBoundsOf,
): Generator<number, TimeProducts> {
  const [first] = paths;
  if (!first) throw new RangeError('a blend needs at least one path');
  paths.forEach(({ audio }) => checkAlike(audio, first.audio));
  const all: BoundedPath[] = [];
  for (const path of paths) {
    all.push(bounded({ id: path.id, audio: cut(path.audio, range) }, boundsOf));
    yield 0;
  }
  return { paths: all, gram: yield* gramSteps(all.map(({ audio }) => audio)) };
}

/** How many sounds are new. */
const newOnes = (places: Places): number => places.filter((place) => place === null).length;

/** `time` with its sounds at other `places` and new sounds added: only products with new sounds are computed. */
function* takenOverSteps(
  time: TimeProducts,
  paths: readonly QueryPath[],
  places: Places,
): Generator<number, TimeProducts> {
  const bounds = paths.map(({ audio }, n) =>
    places[n] === null ? peakBoundsOf(audio) : time.paths[places[n]!]!.bounds,
  );
  let gram = arrangedGram(time.gram, places);
  const sounds = paths.map(({ audio }) => audio);
  const added = places.flatMap((place, n) => (place === null ? [n] : []));
  for (const [done, index] of added.entries())
    gram = yield* partOf(gramRowSteps(sounds, index, gram), done / added.length, (done + 1) / added.length);
  return { paths: paths.map(({ id, audio }, n) => ({ id, audio, bounds: bounds[n]! })), gram };
}

/**
 * As `timeSteps`, taking over what `before` (which stays valid) knows of sounds that are the same object, wherever they
 * stood: only what new ones have to do with is computed, unless they are most of all.
 * @throws RangeError as `timeSteps`
 */
export function* renewedTimeSteps(
  before: TimeProducts | null,
  paths: readonly QueryPath[],
): Generator<number, TimeProducts> {
  const soundsOf = (all: readonly QueryPath[]): Sound[] => all.map(({ audio }) => audio);
  const places = placesAmong(soundsOf(before?.paths ?? []), soundsOf(paths));
  if (!before || newOnes(places) > FEW * paths.length) return yield* timeSteps(paths);
  paths.forEach(({ audio }) => checkAlike(audio, paths[0]!.audio));
  const isSame = isInPlace(places, before.paths.length) && paths.every(({ id }, n) => id === before.paths[n]!.id);
  return isSame ? before : yield* takenOverSteps(before, paths, places);
}

/**
 * Builds a query step by step, so that a worker can tell how far it is and stop between steps; each step yields the part
 * done, 0..1. Both halves one after the other; they can be made at once in two threads (band-keeper.ts).
 * @throws RangeError as `timeSteps`
 */
export function* buildSteps(paths: readonly QueryPath[], range?: FrameRange): Generator<number, GramQuery> {
  const time = yield* partOf(timeSteps(paths, range), 0, TIME);
  return yield* withBands(time, new BandKeeper());
}

/**
 * As `buildSteps`, for paths that do not change: no spectra are kept, which would take 2.5 times the memory of the paths.
 * @throws RangeError as `timeSteps`
 */
export function* buildOnceSteps(
  paths: readonly QueryPath[],
  range?: FrameRange,
  boundsOf: BoundsOf = peakBoundsOf,
): Generator<number, GramQuery> {
  const time = yield* partOf(timeSteps(paths, range, boundsOf), 0, TIME);
  const { sampleRate, frames } = time.gram;
  const layout = frameLayout(sampleRate);
  const sounds = time.paths.map(({ audio }) => audio);
  const bands = yield* partOf(bandGramSteps(passingSpectra(sounds, layout), layout, sampleRate, frames), TIME, 1);
  return new GramQuery(time, bands, null);
}

/**
 * As `buildSteps`, with the sounds of some paths changed, of the stretch that the query is of: only what they have to do
 * with is computed, unless that is most of it, or the bands are kept elsewhere. `query` stays valid.
 * @param changes new sounds by the places of the paths
 * @throws RangeError when there is no such path, or a sound is not like those of the others
 */
export function* withPathsSteps(
  { time, keeper }: GramQuery,
  changes: ReadonlyMap<number, Sound>,
): Generator<number, GramQuery> {
  for (const [index, audio] of changes) {
    if (!time.paths[index]) throw new RangeError(`there is no path ${index} of ${time.paths.length}`);
    checkAlike(audio, time.paths[index].audio);
  }
  const paths = time.paths.map(({ id, audio }, n) => ({ id, audio: changes.get(n) ?? audio }));
  if (!keeper || changes.size > FEW * paths.length) return yield* buildSteps(paths);
  const places = paths.map((_, n) => (changes.has(n) ? null : n));
  const changed = yield* partOf(takenOverSteps(time, paths, places), 0, TIME);
  return yield* withBands(changed, keeper.copy());
}

function* withBands(time: TimeProducts, keeper: BandKeeper): Generator<number, GramQuery> {
  const sounds = time.paths.map(({ audio }) => audio);
  const bands = yield* partOf(keeper.bandSteps(sounds), TIME, 1);
  return new GramQuery(time, bands, keeper);
}

const checkAlike = (audio: Sound, other: Sound): void => {
  const alike = audio.sampleRate === other.sampleRate && framesOf(audio) === framesOf(other);
  if (alike && audio.channels.length === 2) return;
  throw new RangeError('paths must be stereo, of one sample rate and equally long');
};

/** The query of `paths`, over the whole or over `range` alone. */
export const makeBlendQuery = (paths: readonly QueryPath[], range?: FrameRange): GramQuery =>
  finished(buildSteps(paths, range));

/** The query with the sound of path `index` replaced by `audio`, as `withPathsSteps` does it. */
export const withPath = (query: GramQuery, index: number, audio: Sound): GramQuery =>
  finished(withPathsSteps(query, new Map([[index, audio]])));
