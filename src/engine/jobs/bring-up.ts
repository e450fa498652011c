import type { Range } from '../../audio/range.ts';
import { bringUp, type BringUpStep } from '../../blend/solve/bring-up.ts';
import { partOfJob, type Job } from '../job.ts';
import type { BringUpQuestion } from '../questions.ts';
import type { Workshop } from '../workshop.ts';

interface BringUpTask extends Omit<BringUpQuestion, 'kind'> {
  /** null: the whole song. */
  readonly section: Range | null;
}

/** Figures of the mix, before the mix bus, as buses are brought up one by one. Throws as `bringUp` does. */
export async function* bringUpBuses(
  workshop: Workshop,
  { order, downDb, section }: BringUpTask,
): Job<readonly BringUpStep[]> {
  const { query, gains } = yield* partOfJob(workshop.space(workshop.stretch(section), false), 0, 0.9);
  return bringUp(query, gains, order, downDb);
}
