import { framesOf } from '../../audio/audio.ts';
import { partOf } from '../../audio/steps.ts';
import { heardLoudness } from '../../measure/heard.ts';
import { matchingMakeUpSteps } from '../../render/fit/match-make-up.ts';
import { jobOf, type Job } from '../job.ts';
import type { Workshop } from '../workshop.ts';
import { comingToSteps, surroundingsOf, type StageTask } from './arrival.ts';

/** A make-up is matched to 0.01 dB, so its input is rendered from the beginning of the song. */
const LEAD_SECONDS = Infinity;

function* steps(workshop: Workshop, task: StageTask): Generator<number, number | null> {
  const { item, input, leadFrames } = yield* partOf(comingToSteps(workshop, task, LEAD_SECONDS), 0, 0.6);
  const range = { from: leadFrames, to: framesOf(input.sound) };
  return yield* partOf(matchingMakeUpSteps(input, item, range, surroundingsOf(workshop), heardLoudness), 0.6, 1);
}

/**
 * The make-up, dB, at which a processor's output is as loud as its input; null: there is no loudness to match.
 * @throws Error with one clear sentence while its input is not rendered
 */
export const matchMakeUp = (workshop: Workshop, task: StageTask): Job<number | null> => jobOf(steps(workshop, task));
