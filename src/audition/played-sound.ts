import type { Heard } from './heard.ts';

/** A sound that is played out of stretches: its samples are asked for by its number. */
export interface PlayedSound {
  /** Another one for another sound. */
  readonly id: number;
  readonly frames: number;
}

/** What is played, all at one rate and starting with the song. */
export interface Program {
  /** Length of what is played, frames. */
  readonly frames: number;
  /** Rendered paths by id; they are summed in this order. */
  readonly paths: readonly (readonly [id: string, sound: PlayedSound])[];
  /** Sides that have a sound of their own. */
  readonly sides: readonly (readonly [side: Heard, sound: PlayedSound])[];
}

/** Frames from..to-1 of the song, played again and again. */
export interface LoopFrames {
  readonly from: number;
  readonly to: number;
}

/** Every sound of a program, in an order that stays. */
export const soundsIn = ({ paths, sides }: Program): readonly PlayedSound[] => [
  ...paths.map(([, sound]) => sound),
  ...sides.map(([, sound]) => sound),
];
