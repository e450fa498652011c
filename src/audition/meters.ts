import { decibelsOf } from '../audio/decibels.ts';

/** Level of one signal over the time of one reading. */
export interface SignalLevel {
  /** Greatest sample, dBFS; -Infinity in silence. */
  readonly peakDb: number;
  /** RMS, dBFS (a full-scale square wave is 0); -Infinity in silence. */
  readonly rmsDb: number;
}

/**
 * What the meters of the player read, taken from the very samples that are played, some 40 times a second. `heard` is what comes out
 * before the monitor: the side that is heard, turned down for matching, folded where it is folded.
 */
export interface Meters {
  /** Place in the song that was read last, seconds. */
  readonly seconds: number;
  readonly heard: {
    readonly left: SignalLevel;
    readonly right: SignalLevel;
    /** Greatest true peak since playing started, dBTP (BS.1770-5 Annex 2). */
    readonly truePeakDb: number;
    /** Loudness of the last 400 ms and 3 s (EBU Tech 3341), LUFS; null until so much was played, and in silence. */
    readonly momentaryLufs: number | null;
    readonly shortTermLufs: number | null;
    /** Correlation of left and right over the last 400 ms, -1..1; null in silence. */
    readonly correlation: number | null;
  };
  /** Each path after its fader or blend, the louder of both sides, by id. */
  readonly paths: ReadonlyMap<string, SignalLevel>;
  /**
   * Gain reduction at this moment of what runs while it is heard, dB, 0 or more: for the mix bus and each live path, a number for each
   * of its `runningProcessors` (src/session/chain/chain-items.ts), in order; null for one that does not turn down by level.
   */
  readonly reductions: ReadonlyMap<string, readonly (number | null)[]>;
  /** Times since the sound card was opened that sound came too late and silence was played. */
  readonly lateStretches: number;
}

/** Whose readings stand in a message, in order. */
export interface MeteredNames {
  readonly paths: readonly string[];
  /** Chains that run, and how many processors each has. */
  readonly chains: readonly (readonly [id: string, processors: number])[];
}

/** Places in the message of what is read once; after them peak and RMS of each path, then reductions. NaN: none. */
export const READ = {
  seconds: 0,
  leftPeak: 1,
  rightPeak: 2,
  leftRms: 3,
  rightRms: 4,
  truePeak: 5,
  momentary: 6,
  shortTerm: 7,
  correlation: 8,
  lateStretches: 9,
} as const;
export const READ_ONCE = 10;

const orNull = (value: number): number | null => (Number.isNaN(value) ? null : value);
const level = (peak: number, rms: number): SignalLevel => ({ peakDb: decibelsOf(peak), rmsDb: decibelsOf(rms) });

/** The readings of one message. */
export const metersFrom = (values: Float32Array, { paths, chains }: MeteredNames): Meters => {
  const at = (place: number): number => values[place]!;
  const firstReduction = READ_ONCE + 2 * paths.length;
  const starts = chains.map((_, n) => chains.slice(0, n).reduce((sum, [, count]) => sum + count, firstReduction));
  return {
    seconds: at(READ.seconds),
    heard: {
      left: level(at(READ.leftPeak), at(READ.leftRms)),
      right: level(at(READ.rightPeak), at(READ.rightRms)),
      truePeakDb: decibelsOf(at(READ.truePeak)),
      momentaryLufs: orNull(at(READ.momentary)),
      shortTermLufs: orNull(at(READ.shortTerm)),
      correlation: orNull(at(READ.correlation)),
    },
    paths: new Map(paths.map((id, n) => [id, level(at(READ_ONCE + 2 * n), at(READ_ONCE + 2 * n + 1))])),
    reductions: new Map(
      chains.map(([id, count], n) => [id, [...values.subarray(starts[n], starts[n]! + count)].map(orNull)]),
    ),
    lateStretches: at(READ.lateStretches),
  };
};
