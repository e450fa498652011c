import type { ChainStep } from '../../src/dsp/core/chain.ts';
import type { KeySignal } from '../../src/dsp/core/processor.ts';
import { through } from './chains.ts';

/** cos on the left and sin on the right: one rotating pointer. */
export const pointer = (hz: number, frames: number, sampleRate = 48000): KeySignal => {
  const angle = (n: number): number => (2 * Math.PI * hz * n) / sampleRate;
  return {
    left: Float64Array.from({ length: frames }, (_, n) => Math.cos(angle(n))),
    right: Float64Array.from({ length: frames }, (_, n) => Math.sin(angle(n))),
  };
};

/** What a moving delay did to a rotating pointer. */
export interface Motion {
  /** Length of the pointer at each frame; 1 for a delay that loses nothing. */
  readonly gains: Float64Array;
  /** Pitch against the input at each frame but the first and last few, cents, taken over `span` frames. */
  readonly cents: Float64Array;
}

/**
 * Sends a pointer through steps that treat both sides alike with one copy, and reads pitch off its turning: no filter or
 * window stands between. The first `from` frames, in which the copy sets in, are left out.
 */
export const motionOf = (
  steps: readonly ChainStep[],
  { hz = 1000, frames = 96000, from = 4800, span = 240, sampleRate = 48000 } = {},
): Motion => {
  const { left, right } = through(steps, pointer(hz, frames, sampleRate), sampleRate);
  const step = (2 * Math.PI * hz) / sampleRate;
  const gains = new Float64Array(frames - from);
  /** Turned further than the input, radians, unwrapped. */
  const lead = new Float64Array(frames - from);
  for (let n = from; n < frames; n++) {
    const i = n - from;
    gains[i] = Math.hypot(left[n]!, right[n]!);
    const raw = Math.atan2(right[n]!, left[n]!) - step * n;
    const before = i === 0 ? raw : lead[i - 1]!;
    lead[i] = raw - 2 * Math.PI * Math.round((raw - before) / (2 * Math.PI));
  }
  const cents = Float64Array.from(
    { length: lead.length - span },
    (_, i) => 1200 * Math.log2(1 + (lead[i + span]! - lead[i]!) / (span * step)),
  );
  return { gains, cents };
};
