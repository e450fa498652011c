import type { Plan, PlanSource } from './plan.ts';

/** A source before which nothing sounds for some time. */
export interface SilenceBefore {
  readonly source: PlanSource;
  /** Frames without any source before it. */
  readonly frames: number;
}

/** The longest silence in a song before a source begins; null: there are no sources. */
export const longestSilence = ({ sources }: Pick<Plan, 'sources'>): SilenceBefore | null => {
  let end = 0;
  let longest: SilenceBefore | null = null;
  for (const source of [...sources].sort((a, b) => a.startFrame - b.startFrame)) {
    const frames = Math.max(0, source.startFrame - end);
    if (!longest || frames > longest.frames) longest = { source, frames };
    end = Math.max(end, source.startFrame + source.frames);
  }
  return longest;
};
