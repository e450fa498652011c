import { framesOf, type Audio, type Sound, type StereoSound } from '../audio/audio.ts';
import { partOf } from '../audio/steps.ts';
import { chainLatency, type ChainStep, type ProcessorStep } from '../dsp/core/chain.ts';
import { straight, type GainMatrix } from '../dsp/core/gain-matrix.ts';
import type { MovingGains } from '../dsp/core/moving-gains.ts';
import { Strip, type StripInput } from '../dsp/core/strip.ts';
import { isSplit, processorsIn } from '../session/chain/chain-items.ts';
import type { ChainItems, Session } from '../session/schema.ts';
import { stepsOf } from '../session/values.ts';
import { cacheKey, type RenderedPaths, type Strips } from './executor.ts';
import { chainSteps } from './mix.ts';
import type { Plan, PlanStrip } from './plan/plan.ts';
import { placed, type Sources } from './plan/sources.ts';

/** Frames from..to-1 of a sound. */
export interface FrameRange {
  readonly from: number;
  readonly to: number;
}

/** One processor of a chain, with the steps before it. */
export interface Stage {
  readonly before: readonly ChainStep[];
  /** The processor itself, at a mix of 100 %, whether it is on or not. */
  readonly step: ProcessorStep;
}

/** What reaches a processor: its input and its key (null: none), stereo, of one length and aligned with each other. */
export interface StageInput {
  readonly sound: Audio;
  readonly key: Audio | null;
}

/** What a chain depends on beside itself. */
type Song = Pick<Session, 'tempo' | 'meter'> & { readonly sounds?: ReadonlyMap<string, StereoSound> | undefined };

/**
 * The stage at which the processor `id` stands; null where the chain has none of that id. One in a split hears what comes to
 * the split, through those before it in there.
 */
export const stageOf = (chain: ChainItems, id: string, { tempo, meter, sounds }: Song): Stage | null => {
  const index = chain.findIndex((item) => processorsIn(item).some((inner) => inner.id === id));
  const around = chain[index];
  if (!around) return null;
  const inside = processorsIn(around);
  const place = inside.findIndex((inner) => inner.id === id);
  const ahead = isSplit(around) ? inside.slice(0, place) : [];
  const [step] = stepsOf([{ ...inside[place]!, on: true, mix: 100 }], tempo, meter, sounds) as [ProcessorStep];
  return { before: stepsOf([...chain.slice(0, index), ...ahead], tempo, meter, sounds), step };
};

/** One signal that feeds a chain, with the frame of the song at which it begins, relative to the chain’s input. */
interface Feed {
  readonly audio: Sound;
  readonly gains: GainMatrix;
  /** Lines that its gains follow. */
  readonly moving?: MovingGains | undefined;
  readonly start: number;
}

/** All that comes to a chain. */
export interface Feeds {
  readonly sampleRate: number;
  readonly inputs: readonly Feed[];
  readonly keys: readonly Feed[];
}

/**
 * What comes to a strip of a plan, from the sources and from strips rendered before, which keep their latency in front;
 * null while one of them is not rendered.
 */
export const feedsOf = (plan: Plan, strip: PlanStrip, sources: Sources, strips: Strips): Feeds | null => {
  const { sampleRate } = plan;
  const { spec } = strip;
  const arrival = strip.latency - chainLatency(spec.steps, sampleRate);
  const byId = new Map(plan.strips.map((each) => [each.id, each]));
  const starts = new Map(plan.sources.map(({ id, startFrame }) => [id, startFrame]));
  const all = [...spec.inputs, ...spec.keyInputs].map(({ gains, moving, delay }: StripInput, n): Feed | null => {
    const { kind, id } = strip.from[n]!;
    const start = delay - arrival;
    if (kind === 'source') return { audio: sources.get(id)!, gains, moving, start: start + starts.get(id)! };
    const sound = strips.get(cacheKey(plan, byId.get(id)!));
    return sound ? { audio: { sampleRate, channels: [sound.left, sound.right] }, gains, moving, start } : null;
  });
  const known = all.filter((feed) => feed !== null);
  if (known.length < all.length) return null;
  return { sampleRate, inputs: known.slice(0, spec.inputs.length), keys: known.slice(spec.inputs.length) };
};

/** What comes to the mix bus: the paths at their gains, trimmed. */
export const mixBusFeeds = ({ sampleRate, paths, mixBus }: Plan, rendered: RenderedPaths): Feeds => ({
  sampleRate,
  inputs: paths.flatMap(({ id, gain }) => {
    const audio = rendered.get(id);
    if (!audio || gain === 0) return [];
    const trim = mixBus.trimGain / (mixBus.moving?.reference ?? 1);
    return [{ audio, gains: straight(gain * trim), moving: mixBus.moving, start: 0 }];
  }),
  keys: [],
});

/** Frames summed at once. */
const BLOCK_FRAMES = 8192;

function* summed(feeds: readonly Feed[], sampleRate: number, { from, to }: FrameRange): Generator<number, Audio> {
  const inputs = feeds.map(({ gains, moving }): StripInput => ({ gains, delay: 0, ...(moving && { moving }) }));
  const strip = new Strip({ inputs, keyInputs: [], steps: [] }, sampleRate, BLOCK_FRAMES);
  strip.seek(from);
  const channels = [new Float32Array(to - from), new Float32Array(to - from)] as const;
  for (let at = from; at < to; at += BLOCK_FRAMES) {
    const frames = Math.min(BLOCK_FRAMES, to - at);
    const blocks = feeds.map(({ audio, start }) => placed(audio, start - at, frames));
    const [left, right] = channels.map((channel) => channel.subarray(at - from)) as [Float32Array, Float32Array];
    strip.process(blocks, left, right, 0, frames);
    yield (at + frames - from) / (to - from);
  }
  return { sampleRate, channels };
}

/**
 * Sums what comes to a chain, and its key, over frames of the song, block by block; what lies outside is silent. Each step
 * yields the part done, 0..1.
 */
export function* arrivalSteps({ sampleRate, inputs, keys }: Feeds, range: FrameRange): Generator<number, StageInput> {
  if (keys.length === 0) return { sound: yield* summed(inputs, sampleRate, range), key: null };
  const sound = yield* partOf(summed(inputs, sampleRate, range), 0, 0.5);
  return { sound, key: yield* partOf(summed(keys, sampleRate, range), 0.5, 1) };
}

/** Runs what arrives at a chain up to a stage, latency taken off; each step yields the part done, 0..1. */
export function* stageInputSteps({ sound, key }: StageInput, { before }: Stage): Generator<number, StageInput> {
  if (before.length === 0 || framesOf(sound) === 0) return { sound, key };
  return { sound: yield* chainSteps(sound, before, key), key };
}
