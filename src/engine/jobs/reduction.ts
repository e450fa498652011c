import { partOf } from '../../audio/steps.ts';
import { reductionSteps, type Reduction } from '../../render/reduction.ts';
import { jobOf, type Job } from '../job.ts';
import type { Workshop } from '../workshop.ts';
import { comingToSteps, type StageTask } from './arrival.ts';

/** The processor runs this long before the drawn range, seconds: longer than any release. */
const LEAD_SECONDS = 6;

function* steps(workshop: Workshop, task: StageTask): Generator<number, Reduction | null> {
  const { stage, input, leadFrames } = yield* partOf(comingToSteps(workshop, task, LEAD_SECONDS), 0, 0.6);
  return yield* partOf(reductionSteps(input, stage.step, leadFrames), 0.6, 1);
}

/**
 * Gain reduction of a processor over a range; null: its gain does not depend on level.
 * @throws Error with one clear sentence while its input is not rendered
 */
export const reduction = (workshop: Workshop, task: StageTask): Job<Reduction | null> => jobOf(steps(workshop, task));
