import type { Range } from '../../audio/range.ts';
import type { Reach, SolveStep } from '../../blend/solve/solution.ts';
import { requireDistinct, targetFrom, type Target } from '../../blend/solve/solve-target.ts';
import { solutionHeadline, solutionSentences } from '../../blend/solve/solve-words.ts';
import type { PrintedMix, Tried } from '../../blend/solve/printed-mix.ts';
import { isMet, valueIn } from '../../blend/solve/target-met.ts';
import { solveBlends } from '../../blend/solve/solve.ts';
import { setBlends } from '../../session/edits/blend-edits.ts';
import { levelLineNotes } from '../../session/lines/level-lines.ts';
import type { Session } from '../../session/schema.ts';
import type { Frames } from '../excerpt.ts';
import { answerOf, partOfJob, stepped, callbackJob, type Job } from '../job.ts';
import type { Solved } from '../questions.ts';
import type { MixSpace, PrintedStretch, Workshop } from '../workshop.ts';

interface SolveTask {
  /** At most one for each figure. */
  readonly targets: readonly Target[];
  readonly reach: Reach;
  /** null: the whole song. */
  readonly section: Range | null;
}

/** Targets from text: "crestDb=max". @throws ProblemError for an invalid one, or two of one figure */
export const targetsAsked = (texts: readonly string[]): readonly Target[] =>
  requireDistinct(
    texts.map((text) => targetFrom(text, 'targets')),
    'targets',
  );

/** The mix with other blends, rendered, printed and measured; `before`: the last printed one. */
async function* printOf(
  workshop: Workshop,
  session: Session,
  frames: Frames | null,
  before: MixSpace | null,
): Job<PrintedStretch & { readonly space: MixSpace }> {
  const mix = yield* partOfJob(workshop.song.renderedAfter(session, workshop.mix), 0, 0.3);
  const space = yield* partOfJob(workshop.spaceOf(mix, frames, before), 0.3, 0.6);
  return { space, ...(yield* stepped(workshop.printedSteps(space), 0.6, 1)) };
}

/** Number of prints after which progress shows one half. */
const HALF_PRINTS = 5;

/**
 * Blends that meet targets within the guards, judged on their prints, each of which is reported as a row. The number of prints is not known in advance: the
 * part done approaches 1.
 * @throws Error with one clear sentence when the section begins after the end of the song; RangeError as `solveBlends` does
 */
export const solve = (workshop: Workshop, { targets, reach, section }: SolveTask): Job<Solved, SolveStep> =>
  callbackJob(async ({ tell, tellRow, turn, signal }) => {
    const frames = workshop.stretch(section);
    let last: MixSpace | null = null;
    let prints = 0;
    const print = async (blends: ReadonlyMap<string, number>): Promise<PrintedMix> => {
      const session = blends.size === 0 ? workshop.session : setBlends(workshop.session, blends);
      const onProgress = (part: number): void => tell((prints + part) / (prints + part + HALF_PRINTS));
      const printed = await answerOf(printOf(workshop, session, frames, last), { onProgress, pace: turn, signal });
      last = printed.space;
      prints++;
      return printed;
    };
    const onPrint = (tried: Tried): void => {
      const values = targets.map((target) => valueIn(target, tried));
      const met = targets.map((target, n) => isMet(target, values[n]!));
      tellRow({ values, met, broken: tried.guards.flatMap(({ name, pass }) => (pass ? [] : [name])) });
    };
    const solution = await solveBlends({ print, onPrint, pace: turn }, targets, reach);
    const notes = levelLineNotes(
      workshop.session,
      solution.moves.map(({ id }) => id),
    );
    const sentences = [...solutionSentences(targets, solution), ...notes];
    return { solution, headline: solutionHeadline(solution), sentences };
  });
