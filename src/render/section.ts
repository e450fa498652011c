import { framesOf, placedSound, type Sound } from '../audio/audio.ts';
import type { Samples } from '../audio/samples.ts';
import type { StripSpec } from '../dsp/core/strip.ts';
import { chainMemorySeconds } from './chain-memory.ts';
import { runFrames, type RenderPart } from './executor.ts';
import type { Plan } from './plan/plan.ts';

/** Frames of the song from..to-1. */
interface FrameSpan {
  readonly from: number;
  readonly to: number;
}

/** Crossfade where what was rendered anew begins and ends, seconds: short, and too long to click. */
const FADE_SECONDS = 0.01;

/** Seconds of sound before a place that shape what these strips do there. */
export const memorySeconds = (plan: Pick<Plan, 'sampleRate'>, strips: Plan['strips']): number =>
  chainMemorySeconds(
    strips.map(({ spec }) => spec.steps),
    plan.sampleRate,
  );

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
