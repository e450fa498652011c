import type { FileFacts } from '../files/decode/file-facts.ts';
import type { Measurement } from '../measure/figures.ts';
import type { Warning } from './checks/warning.ts';
import type { NameTold, SidePair } from './file-names.ts';
import type { SectionGuess } from './guesses/sections.ts';
import type { TimeGuess } from './guesses/tempo.ts';
import type { RoughExplained } from './rough/explain-rough.ts';
import type { TrackInRough } from './rough/track-in-rough.ts';

/** One received track. */
export interface ReceivedTrack {
  /** Path as it was given. */
  readonly file: string;
  readonly told: NameTold;
  readonly facts: FileFacts;
  readonly sampleRate: number;
  readonly channels: number;
  readonly frames: number;
  readonly figures: Measurement;
  readonly warnings: readonly Warning[];
  /** Where it starts after the first of the files, by their time references; 0 without. */
  readonly startSeconds: number;
}

/** The received rough. */
export interface ReceivedRough extends Pick<
  ReceivedTrack,
  'file' | 'facts' | 'sampleRate' | 'channels' | 'frames' | 'figures'
> {
  readonly warnings: readonly Warning[];
  readonly explained: RoughExplained;
  /** Rate at which it was compared with the tracks: that of `lagSamples`, Hz. */
  readonly comparedAt: number;
}

/** A file that is no part of the song, and why. */
export interface LeftAside {
  readonly file: string;
  readonly reason: string;
}

/** All that was received, checked. */
export interface Received {
  readonly tracks: readonly ReceivedTrack[];
  readonly rough: ReceivedRough | null;
  readonly pairs: readonly SidePair[];
  readonly aside: readonly LeftAside[];
  /** What is guessed of the song, never taken unasked. */
  readonly guesses: { readonly time: TimeGuess | null; readonly sections: readonly SectionGuess[] };
  /** Whether the files' time references place them. */
  readonly isPlacedByTime: boolean;
}

/** How a track stands in the rough, or null without one. */
export const inRough = ({ rough }: Received, track: number): TrackInRough | null =>
  rough?.explained.tracks[track] ?? null;

/** Names of the tracks as sentences have them; of those whose files' names tell the same, the files'. */
export const trackNames = ({ tracks }: Pick<Received, 'tracks'>): string[] =>
  tracks.map(({ told, file }) =>
    tracks.filter((other) => other.told.name === told.name).length > 1 ? file : told.name,
  );
