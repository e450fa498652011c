import type { RenderedPaths } from '../../render/executor.ts';
import { gainsOf } from '../../render/mix.ts';
import { settledPlan } from '../../render/print.ts';
import { soundOf } from '../../render/executor.ts';
import { setBlends } from '../../session/blend-edits.ts';
import { copyOf, isSameSound } from '../excerpt.ts';
import type { Asking } from '../questions.ts';
import type { LedMix } from './solve-desk.ts';
import type { SweepStudio } from './sweep-rounds.ts';

/** Makes the mixes that a search for blends asks for: paths that hang on a blend that moved are rendered again. */
export class SolveMixes {
  /** Paths as the worker has them. */
  private known: RenderedPaths;

  constructor(
    private readonly studio: Pick<SweepStudio, 'session' | 'plan' | 'paths' | 'planOf' | 'render' | 'strips'>,
    private readonly signal: Asking['signal'],
  ) {
    this.known = studio.paths;
  }

  /** The mix in hand with these blends, dB by bus. */
  async with(blends: ReadonlyMap<string, number>): Promise<LedMix> {
    const { session: standing, plan: before, paths: inHand, planOf, render, strips } = this.studio;
    const session = setBlends(standing, blends);
    const { plan: planned, sources } = planOf(session);
    const isInHand = soundOf(planned) === soundOf(before);
    const options = { cache: strips, ...(this.signal ? { signal: this.signal } : {}) };
    const paths = isInHand ? inHand : await render(planned, sources, options);
    const plan = settledPlan(planned, paths);
    const sounds = [...paths].flatMap(([id, audio]) =>
      isSameSound(audio, this.known.get(id)) ? [] : [{ id, audio: copyOf(audio) }],
    );
    this.known = paths;
    return { session, gains: [...gainsOf(plan)], mixBus: plan.mixBus, soundFrames: plan.soundFrames, sounds };
  }
}
