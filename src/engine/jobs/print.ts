import { decibelsOf } from '../../audio/decibels.ts';
import { checkGuards } from '../../blend/guards/guards.ts';
import type { BlendSpace } from '../../blend/solve/blend-space.ts';
import {
  printSong,
  type PrintedSong,
  type PrintHost,
  type PrintOrder,
  type PrintSounds,
} from '../../files/print-song.ts';
import type { ReportContent, ReportPath } from '../../files/report.ts';
import { measureFullySteps, type FullMeasurement } from '../../measure/measure.ts';
import { printableOf, printedSteps, sumPrint } from '../../render/print.ts';
import { variantOf, type Variant } from '../../session/variants.ts';
import { answerOf, partOfJob, stepped, tellingJob, type Job } from '../job.ts';
import type { MixSpace, PrintedStretch, Workshop } from '../workshop.ts';

/** What is to be printed, and who has it printed. */
export interface PrintTask<Content> extends Omit<PrintHost<Content>, 'pace'> {
  readonly order: PrintOrder;
}

/** The ledger as a report has it: what each path that sounds does to the loudness before the mix bus. */
const reportPathsOf = ({ paths, query, gains }: BlendSpace): ReportPath[] => {
  const whole = query.essentials(gains).integratedLufs;
  const shares = query.shares(gains);
  return paths.flatMap(({ name, kind }, n) => {
    const gain = gains[n]!;
    if (gain === 0) return [];
    const without = query.essentials(gains.with(n, 0)).integratedLufs;
    const changeLu = whole === null || without === null ? null : whole - without;
    return [{ name, kind, levelDb: decibelsOf(gain), share: shares[n] ?? null, changeLu }];
  });
};

/** What the mix is compared with: the rough where there is one, else the tracks alone. */
async function* comparedWith({ song, session }: Workshop): Job<ReportContent['before']> {
  const rough = song.roughOf(session);
  const compared = (name: string, { figures, series }: FullMeasurement): ReportContent['before'] => ({
    ...{ name, figures, shortTermLufs: series.shortTermLufs },
  });
  if (rough) return compared('rough as received', yield* stepped(measureFullySteps(rough)));
  const { plan, paths } = yield* partOfJob(song.received(session), 0, 0.5);
  return compared('tracks as received', yield* stepped(measureFullySteps(sumPrint(plan, paths)), 0.5, 1));
}

/** The print of the session with some of its groups left out. @throws Error with one clear sentence where none is left */
async function* variantPrint({ song, session }: Workshop, kind: Variant): Job<ReturnType<PrintSounds['mix']>> {
  const variant = variantOf(session, kind);
  if (song.planned(variant).plan.frames === 0)
    throw new Error(`There is nothing in the print of kind "${kind}": none of its tracks is on.`);
  const { plan, paths } = yield* partOfJob(song.rendered(variant), 0, 0.8);
  return yield* stepped(printedSteps(plan, paths, song.room), 0.8, 1);
}

/** The mix with what must be known of it before it is printed. */
async function* spaceAndPrint(workshop: Workshop): Job<{ readonly space: MixSpace; readonly mix: PrintedStretch }> {
  const space = yield* partOfJob(workshop.space(null, false), 0, 0.6);
  return { space, mix: yield* stepped(workshop.printedSteps(space), 0.6, 1) };
}

/** Part of a print that is done once the mix is measured. */
const MEASURED = 0.3;

/**
 * Prints a session as files with a report and a recall sheet.
 * @throws ProblemError as `printSong` does; Error with one clear sentence where nothing is left of a variant
 */
export const print = <Content>(workshop: Workshop, { order, ...host }: PrintTask<Content>): Job<PrintedSong<Content>> =>
  tellingJob(async ({ tell, turn, signal }) => {
    const run = <R>(job: Job<R>, onProgress?: (part: number) => void): Promise<R> =>
      answerOf(job, { onProgress, pace: turn, signal });
    const { space, mix } = await run(spaceAndPrint(workshop), (part) => tell(MEASURED * part));
    const { plan, paths } = workshop.mix;
    const sounds: PrintSounds = {
      ...printableOf(plan, paths, workshop.song.room),
      variant: (kind) => run(variantPrint(workshop, kind)),
      before: () => run(comparedWith(workshop)),
      guards: (printed) =>
        checkGuards(space.guards, printed ? workshop.guarded(space, printed) : mix.guarded, space.references),
      ledger: () => reportPathsOf(space),
      sumPeakDbtp: () => space.query.truePeakDbtp(space.gains),
    };
    const pace = (done: number): Promise<void> => {
      tell(MEASURED + (1 - MEASURED) * done);
      return turn();
    };
    return printSong(workshop.session, order, sounds, { ...host, pace });
  });
