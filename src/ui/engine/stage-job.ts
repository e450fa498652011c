import type { StereoSound } from '../../audio/audio.ts';
import type { RenderedPaths, Strips } from '../../render/executor.ts';
import type { Plan } from '../../render/plan.ts';
import type { Sources } from '../../render/sources.ts';
import { arrivalSteps, feedsOf, mixBusFeeds, stageOf, type Feeds } from '../../render/stage-input.ts';
import { chainOf, MIX } from '../../session/chain-edits.ts';
import { itemOf } from '../../session/chain-items.ts';
import type { ProcessorItem, Session } from '../../session/schema.ts';
import { framesIn } from './excerpt.ts';
import type { Question, StageQuestion } from './questions.ts';
import { inSlices } from './slices.ts';
import type { StageJob } from './stage-desk.ts';

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

export const isStageQuestion = (question: Question): question is Extract<Question, StageQuestion> =>
  question.kind === 'match make-up' || question.kind === 'reduction';

const feedsOfChain = ({ plan, sources, strips, paths }: StageStudio, path: string): Feeds | null => {
  if (path === MIX) return mixBusFeeds(plan, paths);
  const strip = plan.strips.find(({ id }) => id === path);
  return strip ? feedsOf(plan, strip, sources, strips) : null;
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
  const { session, plan, sounds } = studio;
  const chain = chainOf(session, path);
  const song = { tempo: session.tempo, meter: session.meter, sounds };
  const stage = stageOf(chain, id, song);
  const feeds = feedsOfChain(studio, path);
  if (!stage || !feeds) throw new Error('What comes to it is still being rendered: ask again in a moment.');
  const { from, to } = framesIn(range, plan.sampleRate) ?? { from: 0, to: plan.soundFrames };
  const lead = kind === 'reduction' ? Math.min(from, LEAD_SECONDS * plan.sampleRate) : from;
  const end = Math.min(to, plan.frames);
  const steps = arrivalSteps(feeds, { from: from - lead, to: Math.max(from, end) });
  const arrival = await inSlices(steps, () => signal?.aborted ?? false);
  if (!arrival) throw signal!.reason as Error;
  return { kind, item: itemOf(chain, id) as ProcessorItem, stage, arrival, leadFrames: lead, song };
};
