import { leftOut } from '../../audition/heard.ts';
import { framesOf, type Sound } from '../../audio/audio.ts';
import type { RenderedPaths } from '../../render/executor.ts';
import { mixBusStepsIn, summedPaths } from '../../render/mix.ts';
import type { PlanMixBus } from '../../render/plan/plan.ts';
import type { SoundRoom } from '../../render/store/room.ts';
import { Scratch } from '../../render/store/scratch.ts';
import type { Heard } from '../engine.ts';
import { heardLoudnessSteps } from '../../measure/heard.ts';
import { excerptOf, type Frames } from '../excerpt.ts';

/** Loudness of one blend, with all of its paths and without each, as printed, over any stretch of the song. */
export class BlendLevels {
  private readonly known = new Map<string, number | null>();

  constructor(
    private readonly paths: RenderedPaths,
    private readonly gains: ReadonlyMap<string, number>,
    private readonly mixBus: PlanMixBus,
    /** The whole blend as printed. */
    readonly printed: Sound,
    /** Room for prints while they are measured. */
    private readonly room: SoundRoom,
    /** Called when no more levels will be requested. */
    private readonly onLetGo: () => void = () => {},
  ) {}

  /** Ends the use of this object. */
  letGo(): void {
    this.onLetGo();
  }

  /**
   * Measured from the print, LUFS, step by step. The mix bus chain depends on its input, so the mix without a path needs its own
   * print.
   */
  *levelSteps(side: Heard, frames: Frames | null): Generator<number, number | null> {
    const name = nameOf(this.soundingOf(side), frames);
    if (!this.known.has(name)) {
      const scratch = new Scratch(this.room);
      try {
        const print = yield* this.printSteps(this.soundingOf(side), frames, scratch);
        this.known.set(name, yield* heardLoudnessSteps(excerptOf(print, frames)));
      } finally {
        scratch.letGo();
      }
    }
    return this.known.get(name)!;
  }

  /**
   * The level of the mix plus the change by the path before the mix bus: known sooner than the print. null where that
   * is not known.
   */
  *estimateSteps(side: Heard, frames: Frames | null): Generator<number, number | null> {
    const whole = yield* this.levelSteps('mix', frames);
    const before = yield* this.sumLevelSteps(frames);
    const after = yield* heardLoudnessSteps(this.sumOf(excerpts(this.paths, frames), leftOut(side)));
    return whole === null || before === null || after === null ? null : whole + after - before;
  }

  /** True when the level is known at once, or as quickly as an estimate. */
  isQuick(side: Heard, frames: Frames | null): boolean {
    const sounding = this.soundingOf(side);
    return sounding === 'mix' || this.mixBus.steps.length === 0 || this.known.has(nameOf(sounding, frames));
  }

  /** The mix is the same without a path whose blend is closed. */
  private soundingOf(side: Heard): Heard {
    const path = leftOut(side);
    return path !== null && (this.gains.get(path) ?? 0) === 0 ? 'mix' : side;
  }

  private *sumLevelSteps(frames: Frames | null): Generator<number, number | null> {
    const name = nameOf('sum', frames);
    if (!this.known.has(name)) {
      const sum = this.sumOf(excerpts(this.paths, frames), null);
      this.known.set(name, yield* heardLoudnessSteps(sum));
    }
    return this.known.get(name)!;
  }

  private sumOf(paths: RenderedPaths, path: string | null): Sound {
    return summedPaths(paths, path === null ? this.gains : new Map(this.gains).set(path, 0));
  }

  /** The print up to the end of the stretch. */
  private *printSteps(side: Heard, frames: Frames | null, room: SoundRoom): Generator<number, Sound> {
    const path = leftOut(side);
    if (path === null) return this.printed;
    // A chain with look-ahead needs the sound after the range.
    const wanted = (frames?.to ?? Infinity) + this.printed.sampleRate;
    const to = Math.min(wanted, framesOf(this.printed));
    return yield* mixBusStepsIn(room, this.sumOf(excerpts(this.paths, { from: 0, to }), path), this.mixBus);
  }
}

const nameOf = (side: Heard | 'sum', frames: Frames | null): string => `${side} ${frames?.from}-${frames?.to}`;

const excerpts = (paths: RenderedPaths, frames: Frames | null): RenderedPaths =>
  new Map([...paths].map(([id, audio]) => [id, excerptOf(audio, frames)]));
