import type { BlendBench } from '../../blend/solve/blend-bench.ts';
import { GuardedBlend } from '../../blend/solve/blend-bench.ts';
import { guardedFigures } from '../../blend/guards/guard-references.ts';
import { buildSteps, withPathsSteps, type GramQuery, type QueryPath } from '../../blend/gram/make-blend-query.ts';
import { fitted } from '../../blend/ledger/ledger.ts';
import { requireDistinct, targetFrom } from '../../blend/solve/solve-target.ts';
import { solutionHeadline, solutionSentences } from '../../blend/solve/solve-words.ts';
import { solveBlends, type PrintedMix } from '../../blend/solve/solve.ts';
import { framesOf, type Audio } from '../../audio/audio.ts';
import { mixBusSteps, sumPaths } from '../../render/mix.ts';
import type { PlanMixBus } from '../../render/plan.ts';
import type { Session } from '../../session/schema.ts';
import { benchFrom, referencesOf, type Desk } from './blend-desk.ts';
import type { BlendQuestion, Solved } from '../questions.ts';
import { sideFindingsSteps } from '../measuring/side-findings.ts';

export type SolveQuestion = Extract<BlendQuestion, { kind: 'solve' }>;

/** The mix in hand with other blends: plain data, which crosses into the worker. */
export interface LedMix {
  readonly session: Session;
  /** Linear, by path. */
  readonly gains: readonly (readonly [string, number])[];
  readonly mixBus: PlanMixBus;
  /** Length until the last tail has died away, frames. */
  readonly soundFrames: number;
  /** The paths that sound otherwise than in the mix before. */
  readonly sounds: readonly QueryPath[];
}

/** What the worker can do while it answers. */
export interface SolveHelp {
  /** Has the mix rendered with these blends. */
  readonly mixWith: (blends: ReadonlyMap<string, number>) => Promise<LedMix>;
  /** Runs steps with turns between; rejects when the answer is not wanted any more. */
  readonly run: <R>(steps: Generator<unknown, R>) => Promise<R>;
  readonly pace: () => Promise<void>;
}

/** The mix in hand as a search for blends prints it again and again. */
class SolveDesk {
  private readonly sounds: Map<string, Audio>;
  private query: GramQuery;

  constructor(
    private readonly desk: Desk,
    /** Its paths to their very end. */
    whole: ReadonlyMap<string, Audio>,
    private readonly help: SolveHelp,
  ) {
    this.sounds = new Map(whole);
    this.query = desk.basis.query;
  }

  async print(blends: ReadonlyMap<string, number>): Promise<PrintedMix> {
    const mix = await this.help.mixWith(blends);
    for (const { id, audio } of mix.sounds) this.sounds.set(id, audio);
    const bench = await this.benchOf(mix);
    const sum = sumPaths(this.sounds, new Map(mix.gains));
    const print = await this.help.run(mixBusSteps(sum, mix.mixBus));
    const figures = await this.help.run(sideFindingsSteps(fitted(print, mix.soundFrames)));
    const shares = new GuardedBlend(bench, bench.gains).groupShares;
    return { bench, figures, guarded: guardedFigures(figures, figures.details, shares) };
  }

  private async benchOf({ session, gains, mixBus, soundFrames, sounds }: LedMix): Promise<BlendBench> {
    const { basis, references } = this.desk;
    const frames = sounds.length > 0 ? soundFrames : this.query.frames;
    const inputs = basis.inputs.map(({ id }) => ({ id, audio: fitted(this.sounds.get(id)!, frames) }));
    if (sounds.length > 0) this.query = await this.help.run(this.querySteps(inputs, sounds));
    const byId = new Map(gains);
    return benchFrom({
      ...{ session, inputs, mixBus, query: this.query, references: referencesOf(references) },
      gains: inputs.map(({ id }) => byId.get(id) ?? 0),
    });
  }

  private querySteps(inputs: readonly QueryPath[], sounds: readonly QueryPath[]): Generator<number, GramQuery> {
    if (this.query.frames !== framesOf(inputs[0]!.audio)) return buildSteps(inputs);
    const changed = new Set(sounds.map(({ id }) => id));
    const changes = inputs.flatMap(({ id, audio }, n) => (changed.has(id) ? [[n, audio] as const] : []));
    return withPathsSteps(this.query, new Map(changes));
  }
}

/**
 * Blends that meet what is asked, each judged on its print as the command line does.
 * @throws ProblemError for a target that nobody can follow
 */
export const answerSolve = async (
  { targets: asked, limits, withinDb }: SolveQuestion,
  desk: Desk,
  whole: ReadonlyMap<string, Audio>,
  help: SolveHelp,
): Promise<Solved> => {
  const targets = requireDistinct(asked.map(targetFrom), 'targets');
  const solving = new SolveDesk(desk, whole, help);
  const host = { print: (blends: ReadonlyMap<string, number>) => solving.print(blends), pace: () => help.pace() };
  const solution = await solveBlends(host, targets, { withinDb, limits: new Map(limits) });
  return { solution, headline: solutionHeadline(solution), sentences: solutionSentences(targets, solution) };
};
