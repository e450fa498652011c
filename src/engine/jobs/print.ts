import { decibelsOf } from '../../audio/decibels.ts';
import { checkGuards } from '../../blend/guards/guards.ts';
import type { BlendSpace } from '../../blend/solve/blend-space.ts';
import type { PrintOrder, PrintSpan } from '../../files/print/print-order.ts';
import { trialResult } from '../../blend/trial/blind-trial.ts';
import { printSong, type PrintedSong, type PrintHost, type PrintSounds } from '../../files/print/print-song.ts';
import type { ReportContent, ReportPath } from '../../files/report/report.ts';
import { measureFullySteps } from '../../measure/measure.ts';
import { printableOf } from '../../render/print.ts';
import { restorePass } from '../../session/passes/passes.ts';
import { ProblemError } from '../../session/problem.ts';
import type { Session } from '../../session/schema.ts';
import { sideWords } from '../../session/passes/trials.ts';
import type { Frames } from '../excerpt.ts';
import { answerOf, jobOf, partOfJob, stepped, callbackJob, type Job } from '../job.ts';
import { Workshop, type MixSpace, type PrintedStretch } from '../workshop.ts';
import { flowSteps } from './flow.ts';
import { PrintSources } from './print-sounds.ts';
import { receivedSound } from './received-sound.ts';
import { reportSound } from './report-sound.ts';

/** A print order with its host. */
interface PrintTask<Content> extends Omit<PrintHost<Content>, 'tell' | 'turn'> {
  readonly order: PrintOrder;
}

/** The ledger of the report: the change in loudness that each path makes before the mix bus. */
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

/** The blind trials of the session and their results, one sentence each. */
const trialSentences = (session: Session): readonly string[] =>
  session.trials.map((trial) => {
    const { kind, section, planned } = trial;
    const names = { a: sideWords(session, trial.a), b: sideWords(session, trial.b) };
    const result = trialResult(trial, names);
    const over = section === null ? 'the whole song' : `"${section}"`;
    const what = kind === 'abx' ? 'Difference (ABX)' : 'Preference';
    const found = result.finished ? result.sentence : `Stopped after ${result.answered} of ${planned}: no result.`;
    return `${what}, ${names.a} against ${names.b}, over ${over}: ${found}`;
  });

/** Figures of the sound that the mix is compared with over a range. */
async function* comparedWith(workshop: Workshop, frames: Frames | null): Job<ReportContent['before']> {
  const { name, sound } = yield* partOfJob(receivedSound(workshop, frames), 0, 0.5);
  const { figures, series } = yield* stepped(measureFullySteps(sound), 0.5, 1);
  return { name, figures, shortTermLufs: series.shortTermLufs };
}

/** The mix over a range, with the figures that are needed before printing. */
async function* spaceAndPrint(
  workshop: Workshop,
  frames: Frames | null,
): Job<{ readonly space: MixSpace; readonly mix: PrintedStretch }> {
  const space = yield* partOfJob(workshop.space(frames, false), 0, 0.6);
  return { space, mix: yield* stepped(workshop.printedSteps(space), 0.6, 1) };
}

/** The frames of the part that is printed; null: the whole song. @throws ProblemError where it begins after the end */
const stretchOf = (workshop: Workshop, span: PrintSpan | null): Frames | null => {
  const { plan } = workshop.mix;
  const seconds = plan.soundFrames / plan.sampleRate;
  if (span === null || span.startSeconds < seconds) return workshop.stretch(span);
  const expected = `one that begins within the ${seconds.toFixed(2)} s of the song`;
  const found = `a start at ${span.startSeconds} s`;
  throw new ProblemError({ code: 'out-of-range', path: `The part "${span.name}"`, expected, found });
};

/** Part of a print that is done once the mix is measured. */
const MEASURED = 0.3;

/**
 * Prints a session as files with a report and a recall sheet.
 * @param workshop of the pass that is printed, where the order names one
 * @throws ProblemError as `printSong` does, and where a file would be silent or the part begins after the end of the song
 */
export const print = <Content>(workshop: Workshop, { order, ...host }: PrintTask<Content>): Job<PrintedSong<Content>> =>
  callbackJob(async ({ tell, turn, signal }) => {
    const run = <R>(job: Job<R>, onProgress?: (part: number) => void): Promise<R> =>
      answerOf(job, { onProgress, pace: turn, signal });
    const frames = stretchOf(workshop, order.span ?? null);
    const { space, mix } = await run(spaceAndPrint(workshop, frames), (part) => tell(MEASURED * part));
    const { plan, paths } = workshop.mix;
    const sources = new PrintSources(workshop);
    const sounds: PrintSounds = {
      ...printableOf(plan, paths, workshop.song.room),
      sound: (source, told) => run(sources.sound(source), told),
      before: () => run(comparedWith(workshop, frames)),
      guards: (printed) =>
        checkGuards(space.guards, printed ? workshop.guarded(space, printed) : mix.guarded, space.references),
      ledger: () => reportPathsOf(space),
      flow: () => {
        const shares = space.query.shares(space.gains);
        const byId = new Map(space.query.ids.map((id, n) => [id, shares[n] ?? 0]));
        return run(jobOf(flowSteps(workshop, frames, byId)));
      },
      heard: () => run(reportSound(workshop, frames)),
      trials: () => trialSentences(workshop.session),
      sumPeakDbtp: () => space.query.truePeakDbtp(space.gains),
    };
    const telling = { tell: (done: number) => tell(MEASURED + (1 - MEASURED) * done), turn };
    return printSong(workshop.session, order, sounds, { ...host, ...telling });
  });

/** Part of a print that is done once its pass is rendered. */
const RENDERED = 0.3;

/** The same for a pass of the session: it is rendered first. */
export async function* printPass<Content>(
  workshop: Workshop,
  pass: string,
  task: PrintTask<Content>,
): Job<PrintedSong<Content>> {
  const { song, session, guards } = workshop;
  const mix = yield* partOfJob(song.rendered(restorePass(session, pass)), 0, RENDERED);
  return yield* partOfJob(print(new Workshop(song, mix, {}, guards), task), RENDERED, 1);
}
