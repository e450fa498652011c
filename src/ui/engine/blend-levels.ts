import { leftOut } from '../../audition/heard.ts';
import { framesOf, type Audio } from '../../dsp/audio.ts';
import type { RenderedPaths } from '../../render/executor.ts';
import { sumPaths, throughMixBus } from '../../render/mix.ts';
import type { PlanMixBus } from '../../render/plan.ts';
import type { Heard } from './engine.ts';
import { excerptOf, heardLoudness, type Frames } from './excerpt.ts';

/** Loudness of one blend, with all of its paths and without each, as printed, over any stretch of the song. */
export class BlendLevels {
  private readonly known = new Map<string, number | null>();

  constructor(
    private readonly paths: RenderedPaths,
    private readonly gains: ReadonlyMap<string, number>,
    private readonly mixBus: PlanMixBus,
    /** The whole blend as printed. */
    private readonly printed: Audio,
  ) {}

  /** Measured from the print, LUFS. A mix bus chain follows what it is given, so without a path there is another print. */
  levelOf(side: Heard, frames: Frames | null): number | null {
    const name = `${side} ${frames?.from}-${frames?.to}`;
    if (!this.known.has(name)) this.known.set(name, heardLoudness(excerptOf(this.printOf(side, frames), frames)));
    return this.known.get(name)!;
  }

  /**
   * The level of the mix moved by what the path takes away before the mix bus: known sooner than the print. null where that
   * says nothing.
   */
  estimateOf(side: Heard, frames: Frames | null): number | null {
    const whole = this.levelOf('mix', frames);
    const before = heardLoudness(this.sumOf(excerpts(this.paths, frames), null));
    const after = heardLoudness(this.sumOf(excerpts(this.paths, frames), leftOut(side)));
    return whole === null || before === null || after === null ? null : whole + after - before;
  }

  /** True when the level is there at once, or as soon as an estimate would be. */
  isQuick(side: Heard, frames: Frames | null): boolean {
    const path = leftOut(side);
    return path === null || this.mixBus.steps.length === 0 || this.known.has(`${side} ${frames?.from}-${frames?.to}`);
  }

  private sumOf(paths: RenderedPaths, path: string | null): Audio {
    return sumPaths(paths, path === null ? this.gains : new Map(this.gains).set(path, 0));
  }

  /** The print up to the end of the stretch. */
  private printOf(side: Heard, frames: Frames | null): Audio {
    const path = leftOut(side);
    if (path === null) return this.printed;
    // A chain that looks ahead must see what follows the stretch.
    const wanted = (frames?.to ?? Infinity) + this.printed.sampleRate;
    const to = Math.min(wanted, framesOf(this.printed));
    return throughMixBus(this.sumOf(excerpts(this.paths, { from: 0, to }), path), this.mixBus);
  }
}

const excerpts = (paths: RenderedPaths, frames: Frames | null): RenderedPaths =>
  new Map([...paths].map(([id, audio]) => [id, excerptOf(audio, frames)]));
