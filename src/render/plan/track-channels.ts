import { channelMatrix } from '../../dsp/core/channel-mode.ts';
import type { GainMatrix } from '../../dsp/core/gain-matrix.ts';
import type { Track } from '../../session/schema.ts';

/** A part of what a track's file gives to its sound. */
export interface ChannelPart {
  readonly gains: GainMatrix;
  /** Samples by which it comes later than `start`; 0 or more. */
  readonly late: number;
}

/** How a track's file enters the song. */
export interface ChannelParts {
  /** Frame of the song at which the file is laid. */
  readonly start: number;
  /** One part, or left and right apart where one of them starts later. */
  readonly parts: readonly ChannelPart[];
}

/** @param channels of the file */
export const channelParts = (
  track: Pick<Track, 'channels' | 'polarity' | 'offsetSeconds' | 'rightOffsetSeconds'>,
  channels: number,
  sampleRate: number,
): ChannelParts => {
  const gains = channelMatrix(track.channels, track.polarity);
  const start = Math.round(track.offsetSeconds * sampleRate);
  const right = channels < 2 ? 0 : Math.round((track.rightOffsetSeconds ?? 0) * sampleRate);
  if (right === 0) return { start, parts: [{ gains, late: 0 }] };
  return {
    start: start + Math.min(0, right),
    parts: [
      { gains: { ...gains, rightToLeft: 0, rightToRight: 0 }, late: Math.max(0, -right) },
      { gains: { ...gains, leftToLeft: 0, leftToRight: 0 }, late: Math.max(0, right) },
    ],
  };
};
