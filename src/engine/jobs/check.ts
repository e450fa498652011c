import { checkGuards, type GuardReference, type GuardResult } from '../../blend/guards/guards.ts';
import { partOfJob, stepped, type Job } from '../job.ts';
import type { Workshop } from '../workshop.ts';
import type { StretchTask } from './ledger.ts';

/** What guards say of the print over a stretch; the balance is that before the mix bus. */
export interface Checked {
  /** What it is held against, as far as that sounds there. */
  readonly references: readonly GuardReference['name'][];
  readonly guards: readonly GuardResult[];
}

/** Holds the print against the guards. @throws Error with one clear sentence when the section begins after the end of the song */
export async function* check(workshop: Workshop, { section }: StretchTask): Job<Checked> {
  const space = yield* partOfJob(workshop.space(workshop.stretch(section), false), 0, 0.6);
  const { guarded } = yield* stepped(workshop.printedSteps(space), 0.6, 1);
  return {
    references: space.references.map(({ name }) => name),
    guards: checkGuards(space.guards, guarded, space.references),
  };
}
