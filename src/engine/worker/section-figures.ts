import type { Sound } from '../../audio/audio.ts';
import { measureFullySteps } from '../../measure/measure.ts';
import type { RenderedPaths } from '../../render/executor.ts';
import { mixBusSectionSteps, summedPaths } from '../../render/mix.ts';
import type { PlanMixBus } from '../../render/plan/plan.ts';
import type { Range, SectionFindings, SectionSide } from '../engine.ts';
import { excerptOf, framesIn, type Frames } from '../excerpt.ts';
import { inSlices } from '../slices.ts';
import type { Side } from './measuring-listener.ts';

/** A mix of which sections can be measured. */
export interface SectionMix {
  readonly sampleRate: number;
  /** Of the mix after the mix bus: frames from..to-1. */
  readonly print: (span: Frames) => Generator<number, Sound>;
  /** It is not the whole print. */
  readonly isEarly: boolean;
}

/** A mix from its paths. */
export const mixOfPaths = (
  paths: RenderedPaths,
  gains: ReadonlyMap<string, number>,
  mixBus: PlanMixBus,
  sampleRate: number,
): SectionMix => ({
  sampleRate,
  print: (span) => mixBusSectionSteps(summedPaths(paths, gains), mixBus, span),
  isEarly: true,
});

/** A mix from its whole print. */
export const mixOfPrint = (print: Sound): SectionMix => ({
  sampleRate: print.sampleRate,
  // eslint-disable-next-line require-yield -- nothing to compute
  *print(span) {
    return excerptOf(print, span);
  },
  isEarly: false,
});

function* sideSteps(sound: Sound): Generator<number, SectionSide> {
  const { figures, details } = yield* measureFullySteps(sound);
  return { ...figures, details };
}

/** Measures the section in loop: the references once, the mix whenever there is a newer one. */
export class SectionFigures {
  private range: Range | null = null;
  private mix: SectionMix | null = null;
  private answered: SectionMix | null = null;
  /** The mix that is being measured. */
  private work: { readonly range: Range; readonly mix: SectionMix; readonly done: Promise<void> } | null = null;
  /** The last reported figures. */
  private found: SectionFindings | null = null;
  /** The mix is newer than the one that is measured as a whole. */
  private isAhead = false;
  private readonly sounds: Record<Side, Sound | null> = { rough: null, received: null };
  /** Measurements of each side, by section. */
  private readonly known = new WeakMap<Sound, { readonly range: Range; readonly found: SectionSide }>();

  constructor(private readonly onFound: (found: SectionFindings | null) => void) {}

  private tell(found: SectionFindings | null): void {
    if (found || this.found) this.onFound(found);
    this.found = found;
  }

  /** The section; null: none. */
  over(range: Range | null): void {
    this.range = range;
    this.answered = null;
    this.tell(null);
  }

  /** Frames of the section; null: there is none. */
  frames(sampleRate: number): Frames | null {
    return framesIn(this.range, sampleRate);
  }

  side(side: Side, sound: Sound | null): void {
    if (this.sounds[side] !== sound) this.answered = null;
    this.sounds[side] = sound;
  }

  /** The current mix, unless a newer one was given earlier; null: there is none. */
  of(mix: SectionMix | null): void {
    if (mix && this.isAhead) return;
    this.mix = mix;
    this.answered = null;
    if (!mix) this.tell(null);
  }

  /** The mix was replaced by one that sounds the same: known figures of its section are reported for it. */
  again(): void {
    if (this.found && !this.isOpen) this.tell(this.found);
  }

  /** A newer mix than the one that is measured as a whole: its section is measured at once. */
  ahead(mix: SectionMix): Promise<void> {
    this.isAhead = false;
    this.of(mix);
    this.isAhead = true;
    return this.answer(() => false);
  }

  /** The mix that is measured as a whole is the newest. */
  caughtUp(): void {
    this.isAhead = false;
  }

  /** Another song. */
  forget(): void {
    this.sounds.rough = this.sounds.received = null;
    this.isAhead = false;
    this.of(null);
  }

  /** True while there is something to be measured. */
  get isOpen(): boolean {
    return this.range !== null && this.mix !== null && this.mix !== this.answered;
  }

  /** Measures open sections; stops for newer ones, and when `isOver` returns true. */
  answer(isOver: () => boolean): Promise<void> {
    const { range, mix, work } = this;
    if (!range || !mix || !this.isOpen) return Promise.resolve();
    if (work?.range === range && work.mix === mix) return work.done;
    const done = this.measured(range, mix, isOver);
    this.work = { range, mix, done };
    return done;
  }

  private async measured(range: Range, mix: SectionMix, isOver: () => boolean): Promise<void> {
    const isNewest = (): boolean => this.range === range && this.mix === mix;
    try {
      const found = await inSlices(this.steps(range, mix), () => !isNewest() || isOver());
      if (!found || !isNewest()) return;
      this.answered = mix;
      this.tell(found);
    } finally {
      if (this.work?.mix === mix && this.work.range === range) this.work = null;
    }
  }

  private *steps(range: Range, mix: SectionMix): Generator<number, SectionFindings> {
    const span = framesIn(range, mix.sampleRate)!;
    const print = yield* mix.print(span);
    const found = yield* sideSteps(print);
    return {
      range,
      mix: found,
      rough: yield* this.sideSteps('rough', range),
      received: yield* this.sideSteps('received', range),
      isEarly: mix.isEarly,
    };
  }

  private *sideSteps(side: Side, range: Range): Generator<number, SectionSide | null> {
    const sound = this.sounds[side];
    if (!sound) return null;
    const known = this.known.get(sound);
    if (known?.range === range) return known.found;
    const found = yield* sideSteps(excerptOf(sound, framesIn(range, sound.sampleRate)));
    this.known.set(sound, { range, found });
    return found;
  }
}
