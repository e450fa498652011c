import { partOf } from '../../audio/steps.ts';
import type { Measurement } from '../../measure/figures.ts';
import { measureSteps } from '../../measure/measure.ts';
import { printedSteps } from '../../render/print.ts';
import { excerptOf } from '../excerpt.ts';
import { jobOf, type Job } from '../job.ts';
import type { Workshop } from '../workshop.ts';
import type { StretchTask } from './ledger.ts';

/** The figures that are shown next to the mix before the mix bus. */
export interface Sides {
  /** The mix as it would be printed. */
  readonly printed: Measurement;
  /** The rough as compared with the mix: moved by its offset, mono on both channels. */
  readonly rough: Measurement | null;
}

function* steps(workshop: Workshop, { section }: StretchTask): Generator<number, Sides> {
  const { song, session, mix } = workshop;
  const frames = workshop.stretch(section);
  const print = yield* partOf(printedSteps(mix.plan, mix.paths, song.room), 0, 0.3);
  const printed = yield* partOf(measureSteps(excerptOf(print, frames)), 0.3, 0.7);
  const rough = song.roughOf(session);
  return { printed, rough: rough && (yield* partOf(measureSteps(excerptOf(rough, frames)), 0.7, 1)) };
}

/** Measures the print and the rough over a range. Throws as `ledger` does. */
export const sides = (workshop: Workshop, task: StretchTask): Job<Sides> => jobOf(steps(workshop, task));
