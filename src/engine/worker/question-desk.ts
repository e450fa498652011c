import type { PrintedSong } from '../../files/print/print-song.ts';
import { blobKeeper } from './blob-keeper.ts';
import { soundOf } from '../../render/executor.ts';
import type { Plan } from '../../render/plan/plan.ts';
import type { Session } from '../../session/schema.ts';
import type { Sound } from '../../audio/audio.ts';
import type { Heard, Overview, PrintOptions } from '../engine.ts';
import { answerOf, jobOf, type Job } from '../job.ts';
import { approval } from '../jobs/approval.ts';
import { bringUpBuses } from '../jobs/bring-up.ts';
import { fitPreset } from '../jobs/fit-preset.ts';
import { ledger } from '../jobs/ledger.ts';
import { matchMakeUp } from '../jobs/make-up.ts';
import { print, printPass } from '../jobs/print.ts';
import { processors } from '../jobs/processors.ts';
import { reduction } from '../jobs/reduction.ts';
import { solve, targetsAsked } from '../jobs/solve.ts';
import { stageSpectrum } from '../jobs/stage-spectrum.ts';
import { sweep } from '../jobs/sweep.ts';
import {
  NOTHING_SOUNDS,
  SOUND_CHANGED,
  type Answers,
  type Asking,
  type Question,
  type WaveformQuestion,
} from '../questions.ts';
import { pause, slicePace } from '../slices.ts';
import type { Mix, Song } from '../song.ts';
import { Workshop, type KnownWhole } from '../workshop.ts';
import type { Rendered } from './outbox.ts';
import { waveformSteps } from './overview.ts';

/** Data that questions are answered from. */
interface QuestionGround {
  readonly song: Song;
  /** The current session and the last render; null: there is none. */
  inHand(): { readonly session: Session; readonly rendered: Rendered } | null;
  /** The printed sound of a side; null: there is none, or not yet. */
  soundOf(side: Heard): Sound | null;
  /** Measurements of the current mix; null until it is measured. */
  known(): KnownWhole | null;
}

type WorkshopQuestion = Exclude<Question, WaveformQuestion>;

/** Questions about one processor: kept strips are enough to answer them. */
const isOfStage = ({ kind }: Question): boolean =>
  kind === 'match make-up' || kind === 'reduction' || kind === 'stage spectrum' || kind === 'fit preset';

/** Questions that are answered from the products of the paths, which are measured first. */
const needsMeasured = ({ kind }: Question): boolean => kind === 'sweep' || kind === 'solve' || kind === 'bring up';

const jobFor = (question: WorkshopQuestion, workshop: Workshop): Job<Answers[Question['kind']], unknown> => {
  switch (question.kind) {
    case 'sweep':
      return sweep(workshop, question);
    case 'ledger':
      return ledger(workshop, question);
    case 'processors':
      return processors(workshop, question);
    case 'bring up':
      return bringUpBuses(workshop, { ...question, section: null });
    case 'match make-up':
      return matchMakeUp(workshop, question);
    case 'reduction':
      return reduction(workshop, question);
    case 'stage spectrum':
      return stageSpectrum(workshop, question);
    case 'approval':
      return approval(workshop, question);
    case 'fit preset':
      return fitPreset(workshop, question);
    case 'solve': {
      const { targets, withinDb, limits } = question;
      const reach = { withinDb, limits: new Map(limits) };
      return solve(workshop, { targets: targetsAsked(targets), reach, section: null });
    }
  }
};

/** Answers questions in slices, and prints. Rejects with one clear sentence, or with the signal's reason. */
export class QuestionDesk {
  private asked = 0;

  constructor(private readonly ground: QuestionGround) {}

  /** True while a question is being answered. */
  get isOpen(): boolean {
    return this.asked > 0;
  }

  async ask(question: Question, asking: Asking<unknown>): Promise<Answers[Question['kind']]> {
    if (question.kind === 'waveform') return this.waveform(question, asking);
    this.asked++;
    try {
      const mix = isOfStage(question) ? this.mixBeforeItsEdits() : this.mixInHand();
      const known = needsMeasured(question) ? await this.knownOf(mix, asking) : {};
      const workshop = new Workshop(this.ground.song, mix, known);
      const pace = slicePace();
      const goOn = async (): Promise<void> => {
        await pace();
        if (!isOfStage(question)) this.requireUnchanged(mix);
      };
      return await answerOf(jobFor(question, workshop), { ...asking, pace: goOn });
    } finally {
      this.asked--;
    }
  }

  /** Waveform questions do not wait for others, nor others for them. */
  private async waveform(
    { side, range, columns }: WaveformQuestion,
    asking: Asking<unknown>,
  ): Promise<Overview | null> {
    const sound = this.ground.soundOf(side);
    if (!sound) return null;
    const pace = slicePace();
    const goOn = async (): Promise<void> => {
      await pace();
      // Prints are dropped once there are newer ones.
      if (this.ground.soundOf(side) !== sound) throw new Error(SOUND_CHANGED);
    };
    return answerOf(jobOf(waveformSteps(sound, range, columns)), { ...asking, pace: goOn });
  }

  async print({ onProgress, signal, ...order }: PrintOptions): Promise<PrintedSong<Blob>> {
    const mix = this.mixInHand();
    // Its report contains the figures of the print.
    const known = await this.knownOf(mix, { signal }, ({ printed }) => printed !== undefined);
    const host = {
      keeper: blobKeeper,
      targetName: 'The loudness target',
      date: new Date(),
    };
    const workshop = new Workshop(this.ground.song, mix, known);
    const task = { order, ...host };
    const job = order.pass ? printPass(workshop, order.pass, task) : print(workshop, task);
    return answerOf(job, { onProgress, signal, pace: slicePace() });
  }

  /** @throws Error while the current mix is not rendered, or is silent */
  private mixInHand(): Mix {
    const inHand = this.ground.inHand();
    if (!inHand || !sameSound(this.ground.song.planned(inHand.session).plan, inHand.rendered.plan))
      throw new Error('The mix is still being rendered: ask again in a moment.');
    const { session, rendered } = inHand;
    if (!rendered.received) throw new Error(NOTHING_SOUNDS);
    return { session, plan: rendered.plan, paths: rendered.paths };
  }

  /** The current mix, or the render before its last edits: the input of an edited chain is unchanged. */
  private mixBeforeItsEdits(): Mix {
    const inHand = this.ground.inHand();
    if (!inHand) throw new Error('There is no sound yet: ask again once it is rendered.');
    const { session, rendered } = inHand;
    if (!rendered.received) throw new Error(NOTHING_SOUNDS);
    const { plan } = this.ground.song.planned(session);
    return { session, plan: sameSound(plan, rendered.plan) ? rendered.plan : plan, paths: rendered.paths };
  }

  /** Measurements of a mix, as far as a question needs them. */
  private async knownOf(
    mix: Mix,
    { signal }: { readonly signal?: AbortSignal | undefined },
    isEnough: (known: KnownWhole) => boolean = () => true,
  ): Promise<KnownWhole> {
    for (;;) {
      signal?.throwIfAborted();
      this.requireUnchanged(mix);
      const known = this.ground.known();
      if (known && isEnough(known)) return known;
      await pause();
    }
  }

  /** @throws Error where the paths have changed since the question was asked: an answer would be wrong */
  private requireUnchanged({ paths }: Mix): void {
    if (this.ground.inHand()?.rendered.paths !== paths) throw new Error(SOUND_CHANGED);
  }
}

/** Whether two plans have the same paths in the same order at one rate. */
export const hasSamePaths = (a: Plan, b: Plan): boolean =>
  a.sampleRate === b.sampleRate &&
  a.paths.length === b.paths.length &&
  a.paths.every(({ id }, n) => id === b.paths[n]!.id);

/** Whether two plans have the same sound path by path, in the same order, so that only gains and the mix bus differ. */
export const sameSound = (a: Plan, b: Plan): boolean => hasSamePaths(a, b) && soundOf(a) === soundOf(b);
