import { expect } from 'vitest';

type Numbers = Float32Array | Float64Array | Uint8Array | Int32Array;

const isNumbers = (value: unknown): value is Numbers =>
  value instanceof Float32Array ||
  value instanceof Float64Array ||
  value instanceof Uint8Array ||
  value instanceof Int32Array;

/**
 * Vitest walks samples as it walks any object, which takes longer than most of what makes them. What is equal in every bit is told
 * here at once; of all else it decides and tells itself.
 */
const areEqualSamples = (a: unknown, b: unknown): boolean | undefined => {
  if (!isNumbers(a) || !isNumbers(b) || a.constructor !== b.constructor || a.length !== b.length) return undefined;
  for (let n = 0; n < a.length; n++) if (!Object.is(a[n], b[n])) return undefined;
  return true;
};

// Files that share a process share it.
const known = globalThis as { equalSamples?: boolean };
if (!known.equalSamples) expect.addEqualityTesters([areEqualSamples]);
known.equalSamples = true;
