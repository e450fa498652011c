/** How closely the rounded triangle follows a true one, of 1. */
const EDGE = 0.98;
const SCALE = 1 / Math.asin(EDGE);

/** A sine, from -1 to 1; `phase` in turns. Its speed is 2 pi a turn at most. */
export const sineLfo = (phase: number): number => Math.sin(2 * Math.PI * phase);

/**
 * A triangle with round corners, from -1 to 1: for two thirds of the time it moves at one speed within 6 %, so that a
 * delay that follows it holds its pitch, by turns below and above. Its speed is 4.49 a turn at most.
 */
export const triangleLfo = (phase: number): number => SCALE * Math.asin(EDGE * Math.sin(2 * Math.PI * phase));
