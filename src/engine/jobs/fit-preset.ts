import { framesOf } from '../../audio/audio.ts';
import { partOf } from '../../audio/steps.ts';
import { fitMeters } from '../../measure/heard.ts';
import { fittedChainSteps, type FitMeters, type Fittable, type FittedChain } from '../../render/fit/fit-chain.ts';
import type { StageInput } from '../../render/stage-input.ts';
import { jobOf, type Job } from '../job.ts';
import type { FitQuestion } from '../questions.ts';
import type { Workshop } from '../workshop.ts';
import { arrivalSteps, stretchOf, surroundingsOf } from './arrival.ts';

/** A preset fitted to the whole input of a chain; each step yields the part done, 0..1. */
export const fittedToSteps = (
  arrival: StageInput,
  preset: Fittable,
  song: FitMeters['song'],
): Generator<number, FittedChain> =>
  fittedChainSteps(arrival, preset, { range: { from: 0, to: framesOf(arrival.sound) }, song, ...fitMeters });

function* steps(
  workshop: Workshop,
  { path, preset, range }: Omit<FitQuestion, 'kind'>,
): Generator<number, FittedChain> {
  const arrival = yield* partOf(arrivalSteps(workshop, path, stretchOf(workshop, range)), 0, 0.1);
  return yield* partOf(fittedToSteps(arrival, preset, surroundingsOf(workshop)), 0.1, 1);
}

/**
 * A preset fitted to the input of a path's chain over a range.
 * @throws Error with one clear sentence while the input is not rendered
 */
export const fitPreset = (workshop: Workshop, task: Omit<FitQuestion, 'kind'>): Job<FittedChain> =>
  jobOf(steps(workshop, task));
