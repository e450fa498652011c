import { checkGuards, type GuardReference, type GuardResult } from '../../blend/guards/guards.ts';
import { partOfJob, stepped, type Job } from '../job.ts';
import type { Workshop } from '../workshop.ts';
import type { StretchTask } from './ledger.ts';

/** Results of the guards on the print over a range; the balance is that before the mix bus. */
export interface Checked {
  /** The references that sound there. */
  readonly references: readonly GuardReference['name'][];
  readonly guards: readonly GuardResult[];
}

/** Judges the guards on the print. @throws Error with one clear sentence when the section begins after the end of the song */
export async function* check(workshop: Workshop, { section }: StretchTask): Job<Checked> {
  const space = yield* partOfJob(workshop.space(workshop.stretch(section), false), 0, 0.6);
  const { guarded } = yield* stepped(workshop.printedSteps(space), 0.6, 1);
  return {
    references: space.references.map(({ name }) => name),
    guards: checkGuards(space.guards, guarded, space.references),
  };
}
