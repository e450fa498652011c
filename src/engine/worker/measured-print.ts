import { framesOf, placedSound } from '../../audio/audio.ts';
import type { RenderedPaths } from '../../render/executor.ts';
import { mixBusStepsIn, summedPaths } from '../../render/mix.ts';
import type { Plan } from '../../render/plan/plan.ts';
import type { SoundRoom } from '../../render/store/room.ts';
import { Scratch } from '../../render/store/scratch.ts';
import type { Overview, SideFindings } from '../engine.ts';
import { inSlices, reportingSteps } from '../slices.ts';
import { BlendLevels } from './blend-levels.ts';
import { overviewSteps } from './overview.ts';
import { sideFindingsSteps } from './side-findings.ts';

/** A blend to print and measure. */
export interface PrintWork {
  readonly paths: RenderedPaths;
  readonly plan: Plan;
  /** Linear, by path. */
  readonly gains: ReadonlyMap<string, number>;
  /** The length that the overview covers, seconds. */
  readonly seconds: number;
}

/** A blend as printed. */
interface MeasuredPrint {
  readonly findings: SideFindings;
  readonly overview: Overview;
  /** Keeps the print until it is released. */
  readonly levels: BlendLevels;
}

/** The part of the work that is done once it is printed but not measured. */
const PRINTED = 1 / 3;

/** Prints a blend into the room and measures the print; reports the part done, 0..1. null: stopped because `isOver` returned true. */
export const measuredPrint = async (
  work: PrintWork,
  room: SoundRoom,
  isOver: () => boolean,
  onPart: (part: number) => void,
): Promise<MeasuredPrint | null> => {
  const scratch = new Scratch(room);
  const { paths, plan, gains, seconds } = work;
  const printing = reportingSteps(mixBusStepsIn(scratch, summedPaths(paths, gains), plan.mixBus), (part) =>
    onPart(PRINTED * part),
  );
  const whole = await inSlices(printing, isOver);
  const print = whole && placedSound(whole, 0, Math.min(plan.soundFrames, framesOf(whole)));
  const measuring = print && reportingSteps(sideFindingsSteps(print), (part) => onPart(PRINTED + (1 - PRINTED) * part));
  const findings = measuring && (await inSlices(measuring, isOver));
  const overview = findings && (await inSlices(overviewSteps(print, seconds), isOver));
  if (!overview) {
    scratch.letGo();
    return null;
  }
  const levels = new BlendLevels(paths, gains, plan.mixBus, print, room, () => scratch.letGo());
  return { findings, overview, levels };
};
