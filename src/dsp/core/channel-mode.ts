import { type GainMatrix, inTurn, straight } from './gain-matrix.ts';

/**
 * How two channels become a track's sound: as they are, one of them on both sides, half of left plus right on both sides, or
 * exchanged. A mono sound is on both sides, and the same in every mode.
 */
export const CHANNEL_MODES = ['stereo', 'left', 'right', 'sum', 'swap'] as const;
type ChannelMode = (typeof CHANNEL_MODES)[number];

/** Polarity of both channels, or of one of them. */
export const POLARITIES = ['normal', 'inverted', 'left inverted', 'right inverted'] as const;
type ChannelPolarity = (typeof POLARITIES)[number];

const matrix = (leftToLeft: number, leftToRight: number, rightToLeft: number, rightToRight: number): GainMatrix => ({
  leftToLeft,
  leftToRight,
  rightToLeft,
  rightToRight,
});

const MODES: Readonly<Record<ChannelMode, GainMatrix>> = {
  stereo: straight(1),
  left: matrix(1, 1, 0, 0),
  right: matrix(0, 0, 1, 1),
  sum: matrix(0.5, 0.5, 0.5, 0.5),
  swap: matrix(0, 1, 1, 0),
};

const SIGNS: Readonly<Record<ChannelPolarity, GainMatrix>> = {
  normal: straight(1),
  inverted: straight(-1),
  'left inverted': matrix(-1, 0, 0, 1),
  'right inverted': matrix(1, 0, 0, -1),
};

/** Gains from a track's file to its sound: the channel mode, and after it the polarity of each side. */
export const channelMatrix = (mode: ChannelMode, polarity: ChannelPolarity): GainMatrix =>
  inTurn(MODES[mode], SIGNS[polarity]);

/** Number of channels for the pan law of a sound in this mode: 1 if both sides are equal. */
export const channelsIn = (mode: ChannelMode, channels: number): number =>
  mode === 'stereo' || mode === 'swap' ? channels : 1;
