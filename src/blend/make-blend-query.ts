import { framesOf, type Audio } from '../dsp/audio.ts';
import { decibelsOf } from '../dsp/decibels.ts';
import { finished } from '../dsp/steps.ts';
import { noFigures, type Figures } from '../measure/figures.ts';
import { correlationOf } from '../measure/stereo.ts';
import { bandGramSteps, blendSpectrum, type BandGram } from './band-gram.ts';
import { blendEssentials, type BlendEssentials, type BlendFigures } from './blend-figures.ts';
import { BlendLoudness } from './blend-loudness.ts';
import type { BlendQuery } from './blend-query.ts';
import { gramRowSteps } from './gram-row.ts';
import { gramSteps, type Gram } from './gram.ts';
import { pairWeights } from './pairs.ts';
import { frameLayout, spectraOf } from './path-spectra.ts';
import { peakBoundsOf, type PeakBounds } from './peak-bounds.ts';
import { PeakSearch } from './peak-search.ts';
import { sharesOf } from './share.ts';

/** A rendered path: stereo, all of one rate and length. */
export interface QueryPath {
  readonly id: string;
  readonly audio: Audio;
}

/** A stretch of the paths, frames. A section is the sound cut there and measured on its own. */
export interface FrameRange {
  readonly fromFrame: number;
  readonly toFrame: number;
}

/** All that is known of one path alone. */
interface PathFacts {
  readonly id: string;
  readonly audio: Audio;
  readonly spectra: readonly Float32Array[];
  readonly bounds: PeakBounds;
}

/** The query that `makeBlendQuery` makes: it remembers what a change of one path need not compute again. */
export class GramQuery implements BlendQuery {
  readonly ids: readonly string[];
  readonly sampleRate: number;
  readonly frames: number;
  private readonly loudness: BlendLoudness;
  private readonly peaks: PeakSearch;
  private readonly bounds: readonly PeakBounds[];

  constructor(
    readonly paths: readonly PathFacts[],
    readonly range: FrameRange | undefined,
    readonly gram: Gram,
    readonly bands: BandGram,
  ) {
    this.ids = paths.map(({ id }) => id);
    this.sampleRate = gram.sampleRate;
    this.frames = gram.frames;
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
      crestDb: blend.rmsDbfs === null ? null : samplePeakDbfs - blend.rmsDbfs,
      plrDb: blend.integratedLufs === null ? null : truePeakDbtp - blend.integratedLufs,
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
    if (gains.length === this.paths.length && gains.every((gain) => Number.isFinite(gain))) return;
    throw new RangeError(`a blend of ${this.paths.length} paths needs as many finite gains, not ${gains.length}`);
  }
}

const cut = ({ sampleRate, channels }: Audio, range: FrameRange | undefined): Audio => ({
  sampleRate,
  channels: range ? channels.map((channel) => channel.subarray(range.fromFrame, range.toFrame)) : channels,
});

const factsOf = ({ id, audio }: QueryPath, range: FrameRange | undefined): PathFacts => {
  const sound = cut(audio, range);
  return { id, audio: sound, spectra: spectraOf(sound, frameLayout(sound.sampleRate)), bounds: peakBoundsOf(sound) };
};

/** Parts of the time that the stages of a build take. */
const SINGLE = 0.4;
const PRODUCTS = 0.35;

function* products(
  paths: readonly PathFacts[],
  range: FrameRange | undefined,
  changed: number | null,
  before: GramQuery | null,
): Generator<number, GramQuery> {
  const { sampleRate } = paths[0]!.audio;
  const sounds = paths.map(({ audio }) => audio);
  const scaled = (part: number, from: number, share: number): number => from + share * part;
  const gram = yield* mapped(
    changed === null || before === null ? gramSteps(sounds) : gramRowSteps(sounds, changed, before.gram),
    (part) => scaled(part, SINGLE, PRODUCTS),
  );
  const bands = yield* mapped(
    bandGramSteps(
      paths.map(({ spectra }) => spectra),
      frameLayout(sampleRate),
      sampleRate,
      gram.frames,
      changed,
      before?.bands ?? null,
    ),
    (part) => scaled(part, SINGLE + PRODUCTS, 1 - SINGLE - PRODUCTS),
  );
  return new GramQuery(paths, range, gram, bands);
}

function* mapped<R>(steps: Generator<number, R>, to: (part: number) => number): Generator<number, R> {
  for (;;) {
    const next = steps.next();
    if (next.done) return next.value;
    yield to(next.value);
  }
}

/**
 * Builds a query step by step, so that a worker can tell how far it is and stop between steps; each step yields the part
 * done, 0..1. The paths' samples are referred to, not copied.
 * @throws RangeError when there is no path, one is not stereo, or rates or lengths differ
 */
export function* buildSteps(paths: readonly QueryPath[], range?: FrameRange): Generator<number, GramQuery> {
  const [first] = paths;
  if (!first) throw new RangeError('a blend needs at least one path');
  paths.forEach(({ audio }) => checkAlike(audio, first.audio));
  const facts: PathFacts[] = [];
  for (const path of paths) {
    facts.push(factsOf(path, range));
    yield (SINGLE * facts.length) / paths.length;
  }
  return yield* products(facts, range, null, null);
}

/** As `buildSteps`, with one path's sound changed: only what that path has to do with is computed. `query` stays valid. */
export function* withPathSteps(query: GramQuery, index: number, audio: Audio): Generator<number, GramQuery> {
  const { paths, range } = query;
  const changed = paths[index];
  if (!changed) throw new RangeError(`there is no path ${index} of ${paths.length}`);
  checkAlike(cut(audio, range), changed.audio);
  const facts = paths.with(index, factsOf({ id: changed.id, audio }, range));
  yield SINGLE;
  return yield* products(facts, range, index, query);
}

const checkAlike = (audio: Audio, other: Audio): void => {
  const alike = audio.sampleRate === other.sampleRate && framesOf(audio) === framesOf(other);
  if (alike && audio.channels.length === 2) return;
  throw new RangeError('paths must be stereo, of one sample rate and equally long');
};

/** The query of `paths`, over the whole or over `range` alone. */
export const makeBlendQuery = (paths: readonly QueryPath[], range?: FrameRange): GramQuery =>
  finished(buildSteps(paths, range));

/** The query with the sound of path `index` replaced by `audio`, of the same rate and length. */
export const withPath = (query: GramQuery, index: number, audio: Audio): GramQuery =>
  finished(withPathSteps(query, index, audio));
