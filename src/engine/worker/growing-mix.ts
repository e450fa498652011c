import { framesOf, type Sound } from '../../audio/audio.ts';
import type { Heard } from '../../audition/heard.ts';
import { heardLoudnessSteps } from '../../measure/heard.ts';
import type { GrowingPaths } from '../../render/executor.ts';
import { gainsOf, mixBusSteps, summedPaths } from '../../render/mix.ts';
import type { Plan } from '../../render/plan/plan.ts';
import { excerptOf } from '../excerpt.ts';
import { inSlices } from '../slices.ts';
import type { Rendered } from './outbox.ts';
import type { FirstLevels } from './protocol.ts';

/** Name of the renders of the mix and of the mix as received: it can be heard as far as both are there. */
export const TOLD_TOGETHER = 'mix and received';
/** A mix can be heard once so much of it is there, seconds. */
const FIRST_SECONDS = 2;
/** Levels are estimated over no more than this at first, and anew each time so many times as much is there, up to the longest, seconds. */
const SOON_SECONDS = 8;
const GROWN = 4;
const LONGEST_SECONDS = 60;
/** Stretches of the mix as received that are summed before others get a turn. */
const SUMMED_AT_ONCE = 2;

/** A sound that comes about from its beginning on: `KeptCopy`. */
interface GrowingSum {
  readonly sound: Sound;
  readonly reach: number;
  advance(reach: number): boolean;
}

/** A mix that is heard while it is being rendered. */
export class GrowingMix {
  private main: GrowingPaths | null = null;
  private received: { readonly sum: GrowingSum; readonly reach: () => number } | null = null;
  /** The frame up to which levels were estimated last. */
  private estimated = 0;
  private isEstimating = false;

  constructor(
    private readonly plan: Plan,
    private readonly rough: Sound | null,
    /** Is told of the mix as far as it is, once it can be heard, and again with better levels. */
    private readonly tell: (mix: Rendered, levels: FirstLevels) => void,
    private readonly isOver: () => boolean,
  ) {}

  /** The paths have begun. */
  begun(main: GrowingPaths): void {
    this.main = main;
  }

  /** The mix as received has begun; `reach`: frames of what it is summed from. */
  receivedBegun(sum: GrowingSum, reach: () => number): void {
    this.received = { sum, reach };
  }

  /** The mix as received is there. */
  receivedWhole(sound: Sound): void {
    this.receivedBegun({ sound, reach: Infinity, advance: () => false }, () => Infinity);
  }

  /** Frames from the start of the song that all of it has. */
  private get reach(): number {
    const { main, received } = this;
    if (!main || !received) return 0;
    return Math.min(received.sum.reach, ...[...main.paths.keys()].map(main.reach));
  }

  /** Something more has been rendered. */
  look(): void {
    const { received } = this;
    for (let n = 0; received && n < SUMMED_AT_ONCE && received.sum.advance(received.reach()); n++);
    const { sampleRate, frames } = this.plan;
    const { reach, estimated } = this;
    const seconds = Math.min(reach, frames) / sampleRate;
    const isDue = estimated === 0 ? seconds >= FIRST_SECONDS : seconds >= (GROWN * estimated) / sampleRate;
    // What is whole is told by the render itself.
    if (!isDue || reach >= frames || this.isEstimating || estimated >= LONGEST_SECONDS * sampleRate) return;
    void this.estimate(Math.min(reach, (estimated === 0 ? SOON_SECONDS : LONGEST_SECONDS) * sampleRate));
  }

  private async estimate(reach: number): Promise<void> {
    this.isEstimating = true;
    this.estimated = reach;
    const levels = await inSlices(this.levelSteps(reach), this.isOver);
    this.isEstimating = false;
    if (!levels || this.isOver()) return;
    const { plan, rough } = this;
    this.tell({ plan, rough, paths: this.main!.paths, received: this.received!.sum.sound }, levels);
  }

  private *levelSteps(to: number): Generator<number, FirstLevels> {
    const first = (sound: Sound): Sound => excerptOf(sound, { from: 0, to: Math.min(to, framesOf(sound)) });
    const sum = first(summedPaths(this.main!.paths, gainsOf(this.plan)));
    const mix = yield* mixBusSteps(sum, this.plan.mixBus);
    const levels = new Map<Heard, number | null>();
    levels.set('mix', yield* heardLoudnessSteps(mix));
    levels.set('received', yield* heardLoudnessSteps(first(this.received!.sum.sound)));
    if (this.rough) levels.set('rough', yield* heardLoudnessSteps(first(this.rough)));
    return levels;
  }
}
