import type { LiveReport } from './live-messages.ts';

/** Frames of one stretch: sounds are asked for and sent in stretches that begin at its multiples. */
export const STRETCH_FRAMES = 16_384;

/** Stretch `index` of a sound. */
export interface StretchName {
  readonly sound: number;
  readonly index: number;
}

/** STRETCH_FRAMES samples of both channels; where they are the same, the same array. Silent after the end of the sound. */
export interface StretchSamples {
  readonly left: Float32Array;
  readonly right: Float32Array;
}

/** What the player asks of the feed. */
export type FeedRequest =
  /** Stretches, the most urgent first; `used` are samples of others that can be filled again. */
  | { readonly ask: readonly StretchName[]; readonly used: readonly Float32Array[] }
  /** Sounds that are played from now on: they stay until they are named no more. */
  | { readonly hold: readonly number[] }
  | LiveReport;

/**
 * What came of one stretch: its samples, or that it is silent, or not there yet (`later`: it is asked for again), or that there is
 * no such sound any more.
 */
export type Fed = StretchSamples | 'silent' | 'later' | 'gone';

/** What the feed answers, in the order in which it was asked. */
export type FeedAnswer = readonly (StretchName & { readonly fed: Fed })[];
