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

/** What questions are answered from. */
export interface QuestionGround {
  readonly song: Song;
  /** The session in hand and what was rendered last; null: nothing was. */
  inHand(): { readonly session: Session; readonly rendered: Rendered } | null;
  /** What a side sounds like as it is printed; null: it is not there, or not yet. */
  soundOf(side: Heard): Sound | null;
  /** What is known of the mix in hand once it is measured; null until then. */
  known(): KnownWhole | null;
}

type WorkshopQuestion = Exclude<Question, WaveformQuestion>;

/** Questions about one processor: of what comes to it strips are enough. */
const isOfStage = ({ kind }: Question): boolean =>
  kind === 'match make-up' || kind === 'reduction' || kind === 'stage spectrum' || kind === 'fit preset';

/** Answers that are told from the products of the paths, which come with the measuring. */
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

  /** A drawing waits for nothing, and nothing waits for it. */
  private async waveform(
    { side, range, columns }: WaveformQuestion,
    asking: Asking<unknown>,
  ): Promise<Overview | null> {
    const sound = this.ground.soundOf(side);
    if (!sound) return null;
    const pace = slicePace();
    const goOn = async (): Promise<void> => {
      await pace();
      // Prints are let go once there are newer ones.
      if (this.ground.soundOf(side) !== sound) throw new Error(SOUND_CHANGED);
    };
    return answerOf(jobOf(waveformSteps(sound, range, columns)), { ...asking, pace: goOn });
  }

  async print({ onProgress, signal, ...order }: PrintOptions): Promise<PrintedSong<Blob>> {
    const mix = this.mixInHand();
    // Its report holds what the print measures.
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

  /** @throws Error while what is rendered is not the mix in hand, or nothing sounds */
  private mixInHand(): Mix {
    const inHand = this.ground.inHand();
    if (!inHand || !sameSound(this.ground.song.planned(inHand.session).plan, inHand.rendered.plan))
      throw new Error('The mix is still being rendered: ask again in a moment.');
    const { session, rendered } = inHand;
    if (!rendered.received) throw new Error(NOTHING_SOUNDS);
    return { session, plan: rendered.plan, paths: rendered.paths };
  }

  /** The mix in hand, or what was rendered before its last edits: what comes to an edited chain sounds as it did. */
  private mixBeforeItsEdits(): Mix {
    const inHand = this.ground.inHand();
    if (!inHand) throw new Error('There is no sound yet: ask again once it is rendered.');
    const { session, rendered } = inHand;
    if (!rendered.received) throw new Error(NOTHING_SOUNDS);
    const { plan } = this.ground.song.planned(session);
    return { session, plan: sameSound(plan, rendered.plan) ? rendered.plan : plan, paths: rendered.paths };
  }

  /** What is known of a mix, once it is measured as far as is needed. */
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

  /** An answer about paths that are not those of the mix in hand any more would be a wrong one. @throws Error */
  private requireUnchanged({ paths }: Mix): void {
    if (this.ground.inHand()?.rendered.paths !== paths) throw new Error(SOUND_CHANGED);
  }
}

/** Whether two plans have the same paths in the same order at one rate, whatever they sound like. */
export const hasSamePaths = (a: Plan, b: Plan): boolean =>
  a.sampleRate === b.sampleRate &&
  a.paths.length === b.paths.length &&
  a.paths.every(({ id }, n) => id === b.paths[n]!.id);

/** Whether two plans sound the same path by path, in the same order, so that only gains and the mix bus differ. */
export const sameSound = (a: Plan, b: Plan): boolean => hasSamePaths(a, b) && soundOf(a) === soundOf(b);
