import { decibelsOf } from '../../audio/decibels.ts';
import type { Audio, StereoSound } from '../../audio/audio.ts';
import { guardedFigures } from '../../blend/guards/guard-references.ts';
import { checkGuards, type GuardResult } from '../../blend/guards/guards.ts';
import type { PrintedSong } from '../../files/print-song.ts';
import type { ReportPath } from '../../files/report.ts';
import type { FullMeasurement } from '../../measure/measure.ts';
import { foundOnly, soundOf, type Executor } from '../../render/executor.ts';
import { asReceived } from '../../render/make-plan.ts';
import type { Plan } from '../../render/plan.ts';
import { mainPrint, settledPlan } from '../../render/print.ts';
import type { Sources } from '../../render/sources.ts';
import type { StripCache } from '../../render/strip-cache.ts';
import { guardsInForce, guardSets } from '../../session/guard-set.ts';
import type { Session } from '../../session/schema.ts';
import { variantOf, type Variant } from '../../session/variants.ts';
import type { Findings, PrintOptions } from '../engine.ts';
import { bringUpSteps, referencesOf, type Desk } from '../jobs/blend-desk.ts';
import { ledgerSteps } from '../jobs/ledger-desk.ts';
import { ledgerBy, processorsBy, type LedgerStudio } from '../jobs/ledger-rounds.ts';
import { printFiles, type PrintStudio } from '../jobs/print-files.ts';
import { answerSolve, type SolveQuestion } from '../jobs/solve-desk.ts';
import { SolveMixes } from '../jobs/solve-mixes.ts';
import { stageAnswerSteps } from '../jobs/stage-desk.ts';
import { fitJobOf, isStageQuestion, stageJobOf } from '../jobs/stage-job.ts';
import { SweepDesk } from '../jobs/sweep-desk.ts';
import { sweepBy, type SweepStudio } from '../jobs/sweep-rounds.ts';
import {
  NOTHING_SOUNDS,
  SOUND_CHANGED,
  type Answers,
  type Asking,
  type FitQuestion,
  type LedgerQuestion,
  type ProcessorsQuestion,
  type Question,
  type StageQuestion,
  type SweepQuestion,
} from '../questions.ts';
import { inSlices, pause, turn } from '../slices.ts';
import type { Measuring } from './measuring.ts';
import type { Rendered } from './teller.ts';

/** What questions are answered from. */
export interface QuestionGround {
  readonly cache: StripCache;
  readonly render: Executor;
  planOf(session: Session): { readonly plan: Plan; readonly sources: Sources };
  /** What processors of the session work with, by file. */
  chainSounds(session: Session): ReadonlyMap<string, StereoSound>;
  /** The session in hand and what was rendered last; null: nothing was. */
  inHand(): { readonly session: Session; readonly rendered: Rendered } | null;
  findings(): Findings;
}

/** An answer may be null, which is not the same as none. */
function* wrapped<S, R>(steps: Generator<S, R>): Generator<S, { readonly answer: R }> {
  return { answer: yield* steps };
}

function* reported<R>(steps: Generator<number, R>, onPart: (part: number) => void): Generator<number, R> {
  for (;;) {
    const next = steps.next();
    if (next.done) return next.value;
    onPart(next.value);
    yield next.value;
  }
}

/** Answers questions in slices, and prints. Rejects with one clear sentence, or with the signal's reason. */
export class QuestionDesk {
  private asked = 0;

  constructor(
    private readonly measuring: Measuring,
    private readonly ground: QuestionGround,
  ) {}

  /** True while a question is being answered. */
  get isOpen(): boolean {
    return this.asked > 0;
  }

  async ask(question: Question, asking: Asking): Promise<Answers[Question['kind']]> {
    this.asked++;
    try {
      return await this.answer(question, asking);
    } finally {
      this.asked--;
    }
  }

  private async answer(question: Question, asking: Asking): Promise<Answers[Question['kind']]> {
    if (question.kind === 'sweep') return this.sweep(question, asking);
    if (question.kind === 'solve') return this.solve(question, asking);
    if (question.kind === 'ledger' || question.kind === 'processors') return this.ledger(question, asking);
    if (isStageQuestion(question)) return this.stage(question, asking);
    const desk = await this.deskInHand(asking);
    return this.run(bringUpSteps(question, desk), asking, this.goneFor(desk));
  }

  /** The mix as it stands, once it is measured. @throws Error when there is none */
  private async deskInHand({ signal }: Asking): Promise<Desk> {
    while (this.measuring.wholePaths.size > 0) {
      signal?.throwIfAborted();
      const { desk } = this.measuring;
      if (desk) return desk;
      await pause();
    }
    throw new Error(NOTHING_SOUNDS);
  }

  /** Comes true once the sound that a question is about has gone. */
  private goneFor({ basis }: Desk): () => boolean {
    return () => this.measuring.desk?.basis !== basis;
  }

  private async run<R>(
    steps: Generator<number, R>,
    { onProgress, signal }: Asking,
    isGone: () => boolean = () => false,
  ): Promise<R> {
    const told = reported(steps, (part) => onProgress?.(part));
    const found = await inSlices(wrapped(told), () => (signal?.aborted ?? false) || isGone());
    signal?.throwIfAborted();
    if (!found) throw new Error(SOUND_CHANGED);
    return found.answer;
  }

  private async sweep(question: SweepQuestion, asking: Asking): Promise<Answers['sweep']> {
    const studio = this.studio();
    let sweeping: SweepDesk | null = null;
    const ask: SweepStudio['ask'] = async ({ begin, round }, part) => {
      this.requireUnchanged(studio);
      const desk = await this.deskInHand(asking);
      if (begin) sweeping = new SweepDesk(desk, this.measuring.wholePaths, begin);
      if (sweeping?.desk.basis !== desk.basis) throw new Error(SOUND_CHANGED);
      return this.run(
        sweeping.steps(round, (row) => asking.onRow?.(row as never)),
        part,
        this.goneFor(desk),
      );
    };
    return sweepBy(question, { ...studio, ask }, asking);
  }

  private async solve(question: SolveQuestion, asking: Asking): Promise<Answers['solve']> {
    const desk = await this.deskInHand(asking);
    const isGone = this.goneFor(desk);
    const mixes = new SolveMixes(this.studio(), asking.signal);
    const goOn = (): void => {
      asking.signal?.throwIfAborted();
      if (isGone()) throw new Error(SOUND_CHANGED);
    };
    return answerSolve(question, desk, this.measuring.wholePaths, {
      mixWith: (blends) => mixes.with(blends),
      run: async (steps) => {
        const found = await inSlices(wrapped(steps), () => (asking.signal?.aborted ?? false) || isGone());
        goOn();
        return found!.answer;
      },
      pace: async () => {
        await turn();
        goOn();
      },
    });
  }

  private async ledger(
    question: LedgerQuestion | ProcessorsQuestion,
    asking: Asking,
  ): Promise<Answers['ledger' | 'processors']> {
    const studio = this.studio();
    const ask: LedgerStudio['ask'] = async (job, part) => {
      this.requireUnchanged(studio);
      const desk = await this.deskInHand(asking);
      if (job.part !== 'energy' && job.soundFrames !== desk.basis.query.frames) throw new Error(SOUND_CHANGED);
      const steps = ledgerSteps(job, desk.basis.inputs, (row) => asking.onRow?.(row as never));
      return (await this.run(steps, part, this.goneFor(desk))) as never;
    };
    const whole = { ...studio, ask };
    return question.kind === 'ledger' ? ledgerBy(question, whole, asking) : processorsBy(question, whole, asking);
  }

  private async stage(question: StageQuestion | FitQuestion, asking: Asking): Promise<Answers[Question['kind']]> {
    const inHand = this.ground.inHand();
    if (!inHand) throw new Error('There is no sound yet: ask again once it is rendered.');
    const { session, rendered } = inHand;
    if (!rendered.received) throw new Error(NOTHING_SOUNDS);
    const { plan, sources } = this.ground.planOf(session);
    const sounds = this.ground.chainSounds(session);
    const studio = { session, plan, sources, strips: this.ground.cache, paths: rendered.paths, sounds };
    const { signal } = asking;
    const job =
      question.kind === 'fit preset'
        ? await fitJobOf(question, studio, signal)
        : await stageJobOf(question, studio, signal);
    return this.run(stageAnswerSteps(job), asking);
  }

  /** Questions are about the paths of the mix in hand: an answer about others would be a wrong one. @throws Error */
  private requireUnchanged({ paths }: Pick<SweepStudio, 'paths'>): void {
    if (this.ground.inHand()?.rendered.paths !== paths) throw new Error(SOUND_CHANGED);
  }

  /** What sweeps and ledgers work with. @throws Error while what is rendered is not the mix in hand, or nothing sounds */
  private studio(): Omit<SweepStudio, 'ask'> {
    const { ground } = this;
    const inHand = ground.inHand();
    if (!inHand || !sameSound(ground.planOf(inHand.session).plan, inHand.rendered.plan))
      throw new Error('The mix is still being rendered: ask again in a moment.');
    const { session, rendered } = inHand;
    if (!rendered.received) throw new Error(NOTHING_SOUNDS);
    return {
      ...{ session, plan: rendered.plan, paths: rendered.paths, rough: rendered.rough },
      ...{ strips: ground.cache, render: ground.render, planOf: (led) => ground.planOf(led) },
      received: (signal) => this.receivedGroups(session, signal),
    };
  }

  /** The groups as received, and how long they sound. */
  private async receivedGroups(session: Session, signal?: AbortSignal): ReturnType<SweepStudio['received']> {
    const { plan, sources } = this.ground.planOf(asReceived(session));
    const { cache, render } = this.ground;
    const paths = await render(plan, sources, { cache, ...(signal ? { signal } : {}) });
    return { paths, soundFrames: settledPlan(plan, paths).soundFrames };
  }

  async print(options: PrintOptions): Promise<PrintedSong<Blob>> {
    const inHand = this.ground.inHand();
    if (inHand && !inHand.rendered.received) throw new Error(NOTHING_SOUNDS);
    const { rough, received, guards: known } = this.ground.findings();
    const figures = rough ?? received;
    if (!inHand || !figures || !known) throw new Error('The mix is still being measured: print in a moment.');
    const { session, rendered } = inHand;
    const { plan, paths } = rendered;
    const before = { name: rough ? 'rough as received' : 'tracks as received', figures };
    const variant = (kind: Variant, signal?: AbortSignal): Promise<Audio> => this.printVariant(session, kind, signal);
    const guards: PrintStudio['guards'] = (print) => (print ? this.guardsOf(print, session, known) : known);
    const ledger = (): ReportPath[] => this.reportPaths(session, plan);
    return printFiles({ session, plan, paths, variant, before, guards, ledger }, options);
  }

  /** What guards say of a print of the mix: its gain does not change the balance. */
  private guardsOf(
    { figures, details }: Omit<FullMeasurement, 'series'>,
    session: Session,
    known: readonly GuardResult[],
  ): readonly GuardResult[] {
    const { rough, received } = this.ground.findings();
    const references = referencesOf({ rough, received, receivedShares: null });
    const results = checkGuards(
      guardsInForce(session.guards, guardSets[0]!),
      guardedFigures(figures, details, null),
      references,
    );
    return results.map((result) => {
      if (result.name !== 'balance drift') return result;
      return known.find(({ name }) => name === 'balance drift') ?? result;
    });
  }

  private reportPaths({ groups, buses }: Session, { paths }: Plan): ReportPath[] {
    return paths.flatMap(({ id, kind, gain }) => {
      if (gain === 0) return [];
      const { name } = [...groups, ...buses].find((path) => path.id === id)!;
      const found = this.ground.findings().paths.get(id);
      const changeLu = found?.change.integratedLufs ?? null;
      return [{ name, kind, levelDb: decibelsOf(gain), share: found?.shareOfLoudness ?? null, changeLu }];
    });
  }

  private async printVariant(session: Session, kind: Variant, signal?: AbortSignal): Promise<Audio> {
    const { plan, sources } = this.ground.planOf(variantOf(session, kind));
    if (plan.frames === 0)
      throw new Error(`There is nothing in the print of kind "${kind}": none of its tracks is on.`);
    const cache = foundOnly(this.ground.cache);
    const paths = await this.ground.render(plan, sources, { cache, ...(signal ? { signal } : {}) });
    return mainPrint(settledPlan(plan, paths), paths);
  }
}

/** Whether two plans have the same paths in the same order, whatever they sound like. */
export const hasSamePaths = (a: Plan, b: Plan): boolean =>
  a.paths.length === b.paths.length && a.paths.every(({ id }, n) => id === b.paths[n]!.id);

/** Whether two plans sound the same path by path, in the same order, so that only gains and the mix bus differ. */
export const sameSound = (a: Plan, b: Plan): boolean => hasSamePaths(a, b) && soundOf(a) === soundOf(b);
