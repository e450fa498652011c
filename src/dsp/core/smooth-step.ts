/** Shape of a crossfade, 0..1 to 0..1: level first and second derivatives at both ends, so that it does not click. */
export const smoothStep = (x: number): number => x * x * x * (10 + x * (6 * x - 15));
