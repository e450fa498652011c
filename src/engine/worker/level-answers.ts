import type { Sound } from '../../audio/audio.ts';
import type { Heard } from '../engine.ts';
import type { Frames } from '../excerpt.ts';
import type { BlendLevels } from './blend-levels.ts';
import { inSlices, pause, turn } from '../slices.ts';

/** A request for levels: of the current blend (mix), or without a path. */
export interface LevelsAsked {
  readonly number: number;
  /** Compared sides, in order: measured before all else. */
  readonly compared: readonly Heard[];
  /** Sides that may be compared next: measured when there is nothing else to do. */
  readonly others: readonly Heard[];
  readonly frames: Frames | null;
}

/** A requested level. */
export interface LevelFound {
  /** Number of the request. */
  readonly asked: number;
  readonly side: Heard;
  readonly lufs: number | null;
  /** False: an estimate, the measured one follows. */
  readonly settled: boolean;
}

/** An answer may be null, which differs from no answer. */
function* wrapped<S, R>(steps: Generator<S, R>): Generator<S, { readonly answer: R }> {
  return { answer: yield* steps };
}

/** One request for levels, and whether it is obsolete. */
interface Work {
  readonly known: BlendLevels;
  readonly asked: LevelsAsked;
  readonly isOver: () => boolean;
}

/** Answers the last request for levels of a blend: for compared sides first an estimate, then the measured value. */
export class LevelAnswers {
  private known: BlendLevels | null = null;
  private asked: LevelsAsked | null = null;
  /** The request whose compared sides have been answered, and the one that has been answered completely. */
  private comparedOf: LevelsAsked | null = null;
  private answered: LevelsAsked | null = null;

  constructor(
    private readonly tell: (level: LevelFound) => void,
    private readonly isAsked: () => boolean,
  ) {}

  /** The measured blend; null: it is not printed yet. The current request is answered anew for it. */
  of(levels: BlendLevels | null): void {
    // A running answer from the old blend ends before it reads more.
    if (levels !== this.known) this.known?.letGo();
    this.known = levels;
    this.comparedOf = this.answered = null;
  }

  /** The print that levels are measured from; null: there is none. */
  get print(): Sound | null {
    return this.known?.printed ?? null;
  }

  ask(asked: LevelsAsked): void {
    this.asked = asked;
  }

  /** True while a request can be answered and has not been. */
  get isOpen(): boolean {
    return this.known !== null && this.asked !== this.answered;
  }

  /** Answers for compared sides, or `all`; stops for a newer request, and when `isOver` returns true. */
  async answer(isOver: () => boolean, all: boolean): Promise<void> {
    while (this.known && this.asked && !isOver() && this.asked !== (all ? this.answered : this.comparedOf)) {
      const { known, asked } = this;
      const work = { known, asked, isOver: () => this.asked !== asked || this.known !== known || isOver() };
      if (asked !== this.comparedOf) await this.tellCompared(work);
      if (all && !work.isOver()) await this.tellOthers(work);
    }
  }

  private async tellCompared(work: Work): Promise<void> {
    for (const side of work.asked.compared) {
      await this.tellEstimates(work, [side]);
      if (!work.isOver()) await this.tellMeasured(work, side);
      if (work.isOver()) return;
    }
    this.comparedOf = work.asked;
  }

  /** Answers for sides that may be compared next. For the whole song the ledger's estimate is enough until then. Questions come first. */
  private async tellOthers(work: Work): Promise<void> {
    const { others, frames } = work.asked;
    if (frames) await this.tellEstimates(work, others);
    for (const side of others) {
      while (this.isAsked() && !work.isOver()) await pause();
      if (!work.isOver()) await this.tellMeasured(work, side);
      if (work.isOver()) return;
    }
    this.answered = work.asked;
  }

  /** Estimates levels that take long to measure. */
  private async tellEstimates({ known, asked, isOver }: Work, sides: readonly Heard[]): Promise<void> {
    for (const side of sides) {
      if (known.isQuick(side, asked.frames)) continue;
      const found = await inSlices(wrapped(known.estimateSteps(side, asked.frames)), isOver);
      if (!found) return;
      this.tell({ asked: asked.number, side, lufs: found.answer, settled: false });
    }
  }

  private async tellMeasured({ known, asked, isOver }: Work, side: Heard): Promise<void> {
    const steps = wrapped(known.levelSteps(side, asked.frames));
    const found = await inSlices(steps, isOver);
    // Frees the blend's memory.
    if (!found) return void steps.return(undefined as never);
    this.tell({ asked: asked.number, side, lufs: found.answer, settled: true });
    await turn();
  }
}
