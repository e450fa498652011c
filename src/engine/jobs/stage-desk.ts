import { framesOf } from '../../audio/audio.ts';
import { partOf } from '../../audio/steps.ts';
import { fittedChainSteps, type Fittable } from '../../render/fit-chain.ts';
import { matchingMakeUpSteps, type Song } from '../../render/match-make-up.ts';
import { reductionSteps } from '../../render/reduction.ts';
import { stageInputSteps, type Stage, type StageInput } from '../../render/stage-input.ts';
import type { ProcessorItem } from '../../session/schema.ts';
import { fitMeters, heardLoudness } from '../../measure/heard.ts';
import type { Answers, FitQuestion, StageQuestion } from '../questions.ts';

/** A question about one processor with all that it takes to answer it: plain data, which crosses into the worker. */
export interface StageJob {
  readonly kind: StageQuestion['kind'];
  readonly item: ProcessorItem;
  readonly stage: Stage;
  /** What comes to its chain, from `leadFrames` before the stretch that is asked about. */
  readonly arrival: StageInput;
  /** Frames in front, in which all only settles. */
  readonly leadFrames: number;
  readonly song: Song;
}

/** A preset to be fitted to what comes to a chain. */
export interface FitJob {
  readonly kind: FitQuestion['kind'];
  readonly preset: Fittable;
  readonly arrival: StageInput;
  readonly song: Song;
}

/** The answer, step by step; each step yields the part done, 0..1. */
export function* stageAnswerSteps(
  job: StageJob | FitJob,
): Generator<number, Answers[(StageQuestion | FitQuestion)['kind']]> {
  const { arrival, song } = job;
  if (job.kind === 'fit preset') {
    const range = { from: 0, to: framesOf(arrival.sound) };
    const meters = { range, song, ...fitMeters };
    return yield* fittedChainSteps(arrival, job.preset, meters);
  }
  const { kind, item, stage, leadFrames } = job;
  const input = yield* partOf(stageInputSteps(arrival, stage), 0, 0.5);
  if (kind === 'reduction') return yield* partOf(reductionSteps(input, stage.step, leadFrames), 0.5, 1);
  const range = { from: leadFrames, to: framesOf(input.sound) };
  return yield* partOf(matchingMakeUpSteps(input, item, range, song, heardLoudness), 0.5, 1);
}
