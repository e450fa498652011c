import { framesOf, placedSound, type Sound } from '../audio/audio.ts';
import type { Samples } from '../audio/samples.ts';
import { chainTail } from '../dsp/core/chain.ts';
import type { StripSpec } from '../dsp/core/strip.ts';
import { runFrames, type RenderPart } from './executor.ts';
import type { Plan } from './plan.ts';

/** Frames of the song from..to-1. */
interface FrameSpan {
  readonly from: number;
  readonly to: number;
}

/** Memory of what has no tail, as envelopes and detectors (common practice for releases), seconds. */
const SHORT_MEMORY_SECONDS = 4;
const LONGEST_MEMORY_SECONDS = 12;
/** Crossfade where what was rendered anew begins and ends, seconds: short, and too long to click. */
const FADE_SECONDS = 0.01;

/** Seconds of sound before a place that shape what these chains do there, by their tails. */
export const memorySeconds = (plan: Pick<Plan, 'sampleRate'>, strips: Plan['strips']): number => {
  const tails = strips.reduce((sum, { spec }) => sum + chainTail(spec.steps, plan.sampleRate), 0) / plan.sampleRate;
  return Math.min(LONGEST_MEMORY_SECONDS, SHORT_MEMORY_SECONDS + tails);
};

/** Without its end a strip runs on wherever it begins. */
export const endless = ({ inputs, keyInputs, arrival = 0, steps }: StripSpec): StripSpec => ({
  inputs,
  keyInputs,
  arrival,
  steps,
});

/** What is to be run of a plan so that these strips sound in a section as they do in the song, but for what lies longer ago. */
export const partFor = (plan: Plan, strips: Plan['strips'], { from, to }: FrameSpan): RenderPart => {
  const latency = Math.max(0, ...plan.strips.map((strip) => strip.latency));
  const before = Math.round(memorySeconds(plan, strips) * plan.sampleRate);
  return { from: Math.max(0, from - before), to: Math.min(runFrames(plan), to + latency) };
};

/** One channel of a sound that is another one within a section. */
class SplicedSamples implements Samples {
  constructor(
    private readonly outside: Samples,
    private readonly inside: Samples,
    private readonly span: FrameSpan,
    private readonly fade: number,
  ) {}

  get length(): number {
    return this.outside.length;
  }

  subarray(from: number, to: number): Float32Array {
    const { outside, inside, span, fade } = this;
    if (to <= span.from || from >= span.to) return outside.subarray(from, to);
    if (from >= span.from + fade && to <= span.to - fade) return inside.subarray(from, to);
    const out = outside.subarray(from, to).slice();
    const first = Math.max(from, span.from);
    const last = Math.min(to, span.to);
    const part = inside.subarray(first, last);
    for (let at = first; at < last; at++) {
      const share = Math.min(1, (at - span.from) / fade, (span.to - at) / fade);
      out[at - from]! += share * (part[at - first]! - out[at - from]!);
    }
    return out;
  }
}

/** A sound within a section, and another one before and after it. */
export const splicedSound = (outside: Sound, inside: Sound, span: FrameSpan): Sound => {
  const { sampleRate } = inside;
  const fade = Math.round(FADE_SECONDS * sampleRate);
  const around = placedSound(outside, 0, framesOf(inside));
  return {
    sampleRate,
    channels: inside.channels.map((channel, n) => new SplicedSamples(around.channels[n]!, channel, span, fade)),
  };
};
