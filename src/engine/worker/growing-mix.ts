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

/** Common name of the renders of the mix and of the mix as received: both run in step, as playback needs both. */
export const RENDERED_TOGETHER = 'mix and received';
/** A mix can be played once this much of it is rendered, seconds. */
const FIRST_SECONDS = 2;
/** Levels are estimated over this much at first, seconds; again each time the rendered length has grown by this factor; and over at most this much, seconds. */
const SOON_SECONDS = 8;
const GROWN = 4;
const LONGEST_SECONDS = 60;
/** Stretches of the mix as received that are summed before other work gets a turn. */
const SUMMED_AT_ONCE = 2;

/** A sound that is being made from its beginning on: `KeptCopy`. */
interface GrowingSum {
  readonly sound: Sound;
  readonly reach: number;
  advance(reach: number): boolean;
}

/** A mix that is played while it is being rendered. */
export class GrowingMix {
  private main: GrowingPaths | null = null;
  private received: { readonly sum: GrowingSum; readonly reach: () => number } | null = null;
  /** The frame up to which levels were estimated last. */
  private estimated = 0;
  private isEstimating = false;

  constructor(
    private readonly plan: Plan,
    private readonly rough: Sound | null,
    /** Called with the rendered part of the mix once it can be played, and again with better levels. */
    private readonly tell: (mix: Rendered, levels: FirstLevels) => void,
    private readonly isOver: () => boolean,
  ) {}

  /** The paths have begun. */
  begun(main: GrowingPaths): void {
    this.main = main;
  }

  /** The mix as received has begun; `reach`: rendered frames of its groups. */
  receivedBegun(sum: GrowingSum, reach: () => number): void {
    this.received = { sum, reach };
  }

  /** The mix as received is complete. */
  receivedWhole(sound: Sound): void {
    this.receivedBegun({ sound, reach: Infinity, advance: () => false }, () => Infinity);
  }

  /** Frames from the start of the song that are rendered of all paths. */
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
    // A finished render reports itself.
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
