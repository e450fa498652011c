import { thirdOctavesBelow, type ThirdOctave } from '../../measure/third-octaves.ts';

/** Frames of about so many seconds: short enough to follow a compressor, long enough to tell bass notes apart. */
const FRAME_SECONDS = 0.085;
/** Bins kept of a third octave: enough to tell what is in it, few enough to keep all tracks of a song in memory. */
const MOST_BINS = 12;
/** Frames kept of a song; the longer it is, the further apart they lie. */
const MOST_FRAMES = 2000;
/** Part of a frame from one to the next where all of the song is kept: windows overlap by their slopes. */
const CLOSEST = 0.75;
/** What lies in so many seconds is taken together: levels over time are told this finely. */
const BLOCK_SECONDS = 0.5;
/** Blocks kept of a song. */
const MOST_BLOCKS = 600;
/** Third octaves that are weighed together. */
const IN_A_GROUP = 3;

/**
 * Which parts of the spectrum of a song over time are kept of every track and of the rough: some bins of every third
 * octave, in frames at the same times. All that is asked of the rough follows from these; they are a fiftieth to a few
 * hundredths of the sound itself.
 */
export interface SketchPlan {
  readonly sampleRate: number;
  /** Samples in a frame, a power of two. */
  readonly size: number;
  /** Samples from a frame to the next. */
  readonly hop: number;
  readonly frames: number;
  /** Frames in a block; the last block may have fewer. */
  readonly perBlock: number;
  readonly blocks: number;
  /** The transform's bins that are kept, rising. */
  readonly bins: Int32Array;
  /** Bands that have bins, low to high. */
  readonly bands: readonly ThirdOctave[];
  /** Band `b` has the kept bins from bandStart[b] up to bandStart[b + 1]. */
  readonly bandStart: Int32Array;
  /** Bins of the whole band for each that is kept. */
  readonly bandWeight: Float64Array;
  /** Groups of three bands: group g has the bands from groupStart[g] up to groupStart[g + 1]. */
  readonly groupStart: Int32Array;
}

/** Up to `most` of the whole numbers from `from` up to `to`, evenly spread. */
const spread = (from: number, to: number, most: number): number[] => {
  const count = Math.min(most, to - from);
  return Array.from({ length: count }, (_, n) => from + Math.floor(((n + 0.5) * (to - from)) / count));
};

/** Samples from frame to frame: the closest, or so many times twice as far that no more frames are kept than may be. */
const hopFor = (size: number, samples: number): number => {
  let hop = CLOSEST * size;
  while (samples / hop > MOST_FRAMES) hop *= 2;
  return hop;
};

/** The plan for a song of `samples` at `sampleRate`. */
export const sketchPlan = (sampleRate: number, samples: number, wantedHop = 0): SketchPlan => {
  const size = 2 ** Math.round(Math.log2(FRAME_SECONDS * sampleRate));
  const hop = Math.max(wantedHop, hopFor(size, samples));
  const frames = Math.max(1, Math.ceil(samples / hop));
  const blockSeconds = Math.max(BLOCK_SECONDS, samples / sampleRate / MOST_BLOCKS);
  const perBlock = Math.max(1, Math.round((blockSeconds * sampleRate) / hop));
  const perHz = size / sampleRate;
  const kept = thirdOctavesBelow(sampleRate).flatMap((band) => {
    const from = Math.max(1, Math.ceil(band.lower * perHz));
    const to = Math.min(size / 2, Math.ceil(band.upper * perHz));
    return to > from ? [{ band, bins: spread(from, to, MOST_BINS), all: to - from }] : [];
  });
  const bandStart = new Int32Array(kept.length + 1);
  kept.forEach(({ bins }, b) => (bandStart[b + 1] = bandStart[b]! + bins.length));
  const groups = Math.ceil(kept.length / IN_A_GROUP);
  return {
    sampleRate,
    size,
    hop,
    frames,
    perBlock,
    blocks: Math.ceil(frames / perBlock),
    bins: Int32Array.from(kept.flatMap(({ bins }) => bins)),
    bands: kept.map(({ band }) => band),
    bandStart,
    bandWeight: Float64Array.from(kept, ({ bins, all }) => all / bins.length),
    groupStart: Int32Array.from({ length: groups + 1 }, (_, g) => Math.min(kept.length, g * IN_A_GROUP)),
  };
};

/** Elements of a frame of one channel: real and imaginary part of each bin in turn. */
export const frameLength = ({ bins }: SketchPlan): number => 2 * bins.length;

/** Seconds in a block. */
export const blockSeconds = ({ perBlock, hop, sampleRate }: SketchPlan): number => (perBlock * hop) / sampleRate;

/** Which block a frame is in. */
export const blockOf = ({ perBlock }: SketchPlan, frame: number): number => Math.floor(frame / perBlock);

/** First and last + 1 element within a frame of the bins of group `g`. */
export const groupElements = ({ groupStart, bandStart }: SketchPlan, g: number): readonly [number, number] => [
  2 * bandStart[groupStart[g]!]!,
  2 * bandStart[groupStart[g + 1]!]!,
];

export const groupCount = ({ groupStart }: SketchPlan): number => groupStart.length - 1;
