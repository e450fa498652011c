import { placedSound, type Audio, type Sound } from '../audio/audio.ts';
import { lastOf, placedSamples } from '../audio/samples.ts';
import { finished } from '../audio/steps.ts';
import { chainTail } from '../dsp/core/chain.ts';
import { LONGEST_PAUSE_SECONDS } from '../dsp/core/dying-away.ts';
import type { RenderedPaths } from './executor.ts';
import { LONGEST_TAIL_SECONDS } from './plan/make-plan.ts';
import { gainsOf, mixBusSteps, mixBusStepsIn, summedPaths } from './mix.ts';
import type { Plan } from './plan/plan.ts';
import type { SoundRoom } from './store/room.ts';
import { fadedOut } from './tail-fade.ts';

/**
 * A path that stays below this until its end is not printed further: -130 dBFS before its fader or blend (24 dB at
 * most).
 */
const INAUDIBLE = 10 ** (-130 / 20);

interface LastHeard {
  readonly within: number;
  readonly from: number;
  readonly last: number;
}

/** Last audible frames of sounds, kept because a sound never changes and every move of a blend asks again. */
const ends = new WeakMap<Sound, LastHeard>();

/** Frames until the last sample above INAUDIBLE of a sound, at least `from`, at most `within`. */
const endOf = (audio: Sound, from: number, within: number): number => {
  const known = ends.get(audio);
  if (known?.within === within && known.from === from) return known.last;
  const last = audio.channels.reduce((end, channel) => {
    const part = placedSamples(channel, 0, within);
    return lastOf(part, end, (x) => !(Math.abs(x) < INAUDIBLE));
  }, from);
  ends.set(audio, { within, from, last });
  return last;
};

/**
 * Frames until the last sample above INAUDIBLE of any path that is heard. How loud it is heard does
 * not count: a blend that is moved leaves the song as long as it was.
 */
const lastHeard = ({ paths: planned, songFrames, soundFrames }: Plan, paths: RenderedPaths): number =>
  planned
    .filter(({ gain }) => gain !== 0)
    .reduce((end, { id }) => Math.max(end, endOf(paths.get(id)!, songFrames, soundFrames)), songFrames);

/**
 * The plan with the length that its paths turned out to have, and the tail of the mix bus after them: a chain states
 * its tail for the loudest input, and what was rendered has often died away sooner. The song is never shortened.
 */
export const settledPlan = (plan: Plan, paths: RenderedPaths): Plan => {
  const heard = Math.ceil(lastHeard(plan, paths) + chainTail(plan.mixBus.steps, plan.sampleRate));
  // What was heard so shortly before the cut may have gone on.
  const stillSounds = heard > plan.soundFrames - LONGEST_PAUSE_SECONDS * plan.sampleRate;
  if (plan.tailCut && stillSounds) return plan;
  return { ...plan, soundFrames: Math.min(plan.soundFrames, heard), tailCut: false };
};

/** The part of a sound until the last tail of the plan has died away, or faded out where that tail is too long. */
function trimmed(sound: Audio, plan: Plan): Audio;
function trimmed(sound: Sound, plan: Plan): Sound;
function trimmed(whole: Sound, { soundFrames, tailCut }: Plan): Sound {
  const sound = placedSound(whole, 0, soundFrames);
  return tailCut ? fadedOut(sound) : sound;
}

/** The main mix as it is printed: all paths at their blends, trimmed, through the mix bus chain; stereo. */
export const mainPrint = (plan: Plan, paths: RenderedPaths): Audio => finished(mainPrintSteps(plan, paths));

/** The same step by step; each step yields the part done, 0..1. */
export function* mainPrintSteps(plan: Plan, paths: RenderedPaths): Generator<number, Audio> {
  return trimmed(yield* mixBusSteps(summedPaths(paths, gainsOf(plan)), plan.mixBus), plan);
}

/** The same, kept in `room`. */
export function* printedSteps(plan: Plan, paths: RenderedPaths, room: SoundRoom): Generator<number, Sound> {
  return trimmed(yield* mixBusStepsIn(room, summedPaths(paths, gainsOf(plan)), plan.mixBus), plan);
}

/** One path as a stem: at its fader or blend, before the mix bus; the stems of all paths add up to the mix before it. */
export const stemPrint = (plan: Plan, paths: RenderedPaths, id: string): Sound =>
  trimmed(summedPaths(new Map([[id, paths.get(id)!]]), gainsOf(plan)), plan);

/** One path through the mix bus by itself, kept in `room`; each step yields the part done, 0..1. */
export function* stemThroughSteps(
  plan: Plan,
  paths: RenderedPaths,
  id: string,
  room: SoundRoom,
): Generator<number, Sound> {
  const alone = summedPaths(new Map([[id, paths.get(id)!]]), gainsOf(plan));
  return trimmed(yield* mixBusStepsIn(room, alone, plan.mixBus), plan);
}

/** The mix before the mix bus: what the ledger's figures are of. */
export const sumPrint = (plan: Plan, paths: RenderedPaths): Sound => trimmed(summedPaths(paths, gainsOf(plan)), plan);

/** What can be printed of a rendered plan: the mix, the paths that give something, and where tails are cut. */
export interface Printable {
  readonly mix: () => Sound;
  readonly stemIds: readonly string[];
  /** How long after the song a tail that sounds on is faded out, seconds; null: none does. */
  readonly cutTailSeconds: number | null;
}

export const printableOf = (plan: Plan, paths: RenderedPaths, room: SoundRoom): Printable => ({
  mix: () => finished(printedSteps(plan, paths, room)),
  stemIds: plan.paths.filter(({ gain }) => gain !== 0).map(({ id }) => id),
  cutTailSeconds: plan.tailCut ? LONGEST_TAIL_SECONDS : null,
});
