import { mixRough } from './mix/rough-mix.ts';
import type { Signal } from './signal.ts';
import type { Track } from './tracks.ts';
import { recordTracks } from './tracks.ts';

/** The whole demo song: tracks as recorded, and the rough mix made of them, sample for sample in step. */
export interface Song {
  readonly tracks: readonly Track[];
  readonly rough: readonly [Signal, Signal];
}

/** Synthesises the song. Always the same: nothing but seeded randomness goes into it. */
export const makeSong = (): Song => {
  const tracks = recordTracks();
  return { tracks, rough: mixRough(tracks) };
};
