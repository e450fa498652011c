import type { StereoSound } from '../../audio/audio.ts';
import type { RenderedPaths, Strips } from '../../render/executor.ts';
import type { Song } from '../../render/match-make-up.ts';
import type { Plan } from '../../render/plan.ts';
import type { Sources } from '../../render/sources.ts';
import {
  arrivalSteps,
  feedsOf,
  mixBusFeeds,
  stageOf,
  type Feeds,
  type FrameRange,
  type StageInput,
} from '../../render/stage-input.ts';
import { chainOf, MIX } from '../../session/chain-edits.ts';
import { itemOf } from '../../session/chain-items.ts';
import type { ProcessorItem, Session } from '../../session/schema.ts';
import { framesIn } from '../excerpt.ts';
import type { FitQuestion, Question, StageQuestion } from '../questions.ts';
import { inSlices } from '../slices.ts';
import type { FitJob, StageJob } from './stage-desk.ts';

/** What is at hand to make the sound that comes to a chain of. */
export interface StageStudio {
  readonly session: Session;
  readonly plan: Plan;
  readonly sources: Sources;
  /** Strips rendered before. */
  readonly strips: Strips;
  readonly paths: RenderedPaths;
  /** What processors work with, by file. */
  readonly sounds: ReadonlyMap<string, StereoSound>;
}

/**
 * A drawing begins so long before its stretch, seconds: longer than any release takes. A make-up is matched to a hundredth
 * of a decibel, so it begins with the song.
 */
const LEAD_SECONDS = 6;

export const isStageQuestion = (question: Question): question is Extract<Question, StageQuestion | FitQuestion> =>
  question.kind === 'match make-up' || question.kind === 'reduction' || question.kind === 'fit preset';

const feedsOfChain = ({ plan, sources, strips, paths }: StageStudio, path: string): Feeds | null => {
  if (path === MIX) return mixBusFeeds(plan, paths);
  const strip = plan.strips.find(({ id }) => id === path);
  return strip ? feedsOf(plan, strip, sources, strips) : null;
};

const NOT_RENDERED = 'What comes to it is still being rendered: ask again in a moment.';

/** What comes to a chain over a stretch, summed in slices. Rejects with the signal's reason once it is withdrawn. */
const arrivalOf = async (feeds: Feeds, range: FrameRange, signal: AbortSignal | undefined): Promise<StageInput> => {
  const arrival = await inSlices(arrivalSteps(feeds, range), () => signal?.aborted ?? false);
  if (!arrival) throw signal!.reason as Error;
  return arrival;
};

const songOf = ({ session, sounds }: StageStudio): Song => ({ tempo: session.tempo, meter: session.meter, sounds });

const stretchOf = (range: StageQuestion['range'], { sampleRate, soundFrames, frames }: Plan): FrameRange => {
  const { from, to } = framesIn(range, sampleRate) ?? { from: 0, to: soundFrames };
  return { from, to: Math.max(from, Math.min(to, frames)) };
};

/**
 * The job for the worker: what comes to the chain is summed here, in slices. Rejects with one clear sentence while it is not
 * rendered, with the signal's reason once it is withdrawn.
 */
export const stageJobOf = async (
  { kind, path, item: id, range }: StageQuestion,
  studio: StageStudio,
  signal: AbortSignal | undefined,
): Promise<StageJob> => {
  const chain = chainOf(studio.session, path);
  const song = songOf(studio);
  const stage = stageOf(chain, id, song);
  const feeds = feedsOfChain(studio, path);
  if (!stage || !feeds) throw new Error(NOT_RENDERED);
  const { from, to } = stretchOf(range, studio.plan);
  const lead = kind === 'reduction' ? Math.min(from, LEAD_SECONDS * studio.plan.sampleRate) : from;
  const arrival = await arrivalOf(feeds, { from: from - lead, to }, signal);
  return { kind, item: itemOf(chain, id) as ProcessorItem, stage, arrival, leadFrames: lead, song };
};

/** The same for a preset that is to be fitted. */
export const fitJobOf = async (
  { kind, path, preset, range }: FitQuestion,
  studio: StageStudio,
  signal: AbortSignal | undefined,
): Promise<FitJob> => {
  const feeds = feedsOfChain(studio, path);
  if (!feeds) throw new Error(NOT_RENDERED);
  const arrival = await arrivalOf(feeds, stretchOf(range, studio.plan), signal);
  return { kind, preset, arrival, song: songOf(studio) };
};
