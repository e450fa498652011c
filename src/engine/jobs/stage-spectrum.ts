import { framesOf, type Audio } from '../../audio/audio.ts';
import { decibelsOf } from '../../audio/decibels.ts';
import { partOf } from '../../audio/steps.ts';
import { spectrumOf } from '../../measure/spectrum.ts';
import { thirdOctavesBelow } from '../../measure/third-octaves.ts';
import { chainSteps } from '../../render/mix.ts';
import { jobOf, type Job } from '../job.ts';
import type { StageSpectrum } from '../questions.ts';
import type { Workshop } from '../workshop.ts';
import { comingToSteps, type StageTask } from './arrival.ts';

/** Time after which filters and dynamic bands have settled, seconds. */
const LEAD_SECONDS = 2;

/** Levels of the third octaves of a sound without its first frames, dB; null in silence. */
const levelsOf = ({ sampleRate, channels }: Audio, leadFrames: number): (number | null)[] => {
  const sound = { sampleRate, channels: channels.map((channel) => channel.subarray(leadFrames)) };
  const { bands } = spectrumOf(sound).level;
  return [...bands].map((power) => (power > 0 ? decibelsOf(Math.sqrt(power)) : null));
};

function* steps(workshop: Workshop, task: StageTask): Generator<number, StageSpectrum | null> {
  const { stage, input, leadFrames } = yield* partOf(comingToSteps(workshop, task, LEAD_SECONDS), 0, 0.5);
  if (framesOf(input.sound) <= leadFrames) return null;
  const { sampleRate } = input.sound;
  const after = yield* partOf(chainSteps(input.sound, [stage.step], input.key), 0.5, 0.8);
  const before = levelsOf(input.sound, leadFrames);
  yield 0.9;
  return { hz: thirdOctavesBelow(sampleRate).map(({ hz }) => hz), before, after: levelsOf(after, leadFrames) };
}

/**
 * Third octaves of a processor's input and output over a range; null: the range is empty.
 * @throws Error with one clear sentence while its input is not rendered
 */
export const stageSpectrum = (workshop: Workshop, task: StageTask): Job<StageSpectrum | null> =>
  jobOf(steps(workshop, task));
