import { type Box, earlyPattern, type Reflection } from './early-reflections.ts';

/** Parameters of one kind of reverberation. */
export interface RoomCharacter {
  /** Shortest and longest line at full size, seconds. */
  readonly span: readonly [number, number];
  /** Part of the diffusion that is in force. */
  readonly diffusion: number;
  /** First reflections at full size; none for a plate, whose echoes are dense from the start. */
  readonly early: readonly Reflection[];
}

const room: Box = {
  size: [11, 8, 4],
  sources: [
    [3.6, 2.3, 1.4],
    [7.1, 2.6, 1.3],
  ],
  listener: [5.6, 5.9, 1.6],
};

const chamber: Box = {
  size: [9, 13, 6],
  sources: [
    [2.1, 2.2, 1.9],
    [6.7, 1.7, 2.2],
  ],
  listener: [4.7, 10.1, 3.1],
};

const hall: Box = {
  size: [34, 52, 19],
  sources: [
    [12.5, 8.1, 1.8],
    [20.9, 7.4, 1.7],
  ],
  listener: [17.6, 27.3, 2.9],
};

/**
 * The characters. Lines as long as the ways between walls are in each; a smaller part of diffusion lets single echoes be heard
 * for longer, as between bare walls of a room. Shapes and sizes are common practice, at full size.
 */
export const characters = {
  plate: { span: [0.019, 0.076], diffusion: 1, early: [] },
  room: { span: [0.013, 0.049], diffusion: 0.8, early: earlyPattern(room) },
  chamber: { span: [0.016, 0.061], diffusion: 1, early: earlyPattern(chamber) },
  hall: { span: [0.029, 0.109], diffusion: 0.9, early: earlyPattern(hall) },
} as const satisfies Readonly<Record<string, RoomCharacter>>;
