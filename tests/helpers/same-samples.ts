import { expect } from 'vitest';

/** The samples are equal bit for bit. Quick for long ones; told is the first place where they are not. */
export const expectSameSamples = (one: Float32Array, other: Float32Array): void => {
  expect(one.length).toBe(other.length);
  expect(one.findIndex((x, n) => x !== other[n])).toBe(-1);
};
