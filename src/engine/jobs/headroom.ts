import type { Measurement } from '../../measure/figures.ts';
import { measureSteps } from '../../measure/measure.ts';
import { sumPrint } from '../../render/print.ts';
import { jobOf, type Job } from '../job.ts';
import type { Mix } from '../song.ts';
import type { Workshop } from '../workshop.ts';

function* peakSteps({ plan, paths }: Mix): Generator<number, number | null> {
  const { truePeakDbtp }: Measurement = yield* measureSteps(sumPrint(plan, paths));
  return truePeakDbtp;
}

/** True peak of the sum of all paths at their blends, before trim and mix bus, dBTP; null in silence. */
export const headroom = ({ mix }: Workshop): Job<number | null> => jobOf(peakSteps(mix));
