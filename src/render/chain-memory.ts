import { chainTail, type ChainStep } from '../dsp/core/chain.ts';

/** Memory of what has no tail, as envelopes and detectors (common practice for releases), seconds. */
const SHORT_MEMORY_SECONDS = 4;
const LONGEST_MEMORY_SECONDS = 12;

/** Seconds of sound before a place that shape what these chains, one after the other, do there, by their tails. */
export const chainMemorySeconds = (chains: readonly (readonly ChainStep[])[], sampleRate: number): number => {
  const tails = chains.reduce((sum, steps) => sum + chainTail(steps, sampleRate), 0) / sampleRate;
  return Math.min(LONGEST_MEMORY_SECONDS, SHORT_MEMORY_SECONDS + tails);
};
