import { framesOf, type Sound } from '../../audio/audio.ts';
import { ROUGH } from '../../session/graph.ts';
import type { Problem } from '../../session/problem.ts';
import type { Session } from '../../session/schema.ts';
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

/** Silence within a song beyond which one of its files is taken to be misplaced, seconds. Our own choice. */
const LONGEST_SILENCE_SECONDS = 600;

/**
 * A file that begins so late that nothing stands for very long before it; null: there is none. Tracks that are off count
 * too, so that nothing is misplaced because others are muted.
 * @param sounds those of the session by track, and the rough where it is a source
 */
export const gapProblem = (
  { tracks, rough, sampleRate }: Pick<Session, 'tracks' | 'rough' | 'sampleRate'>,
  sounds: ReadonlyMap<string, Sound>,
): Problem | null => {
  const starts = [...tracks, ...(rough ? [{ id: ROUGH, offsetSeconds: rough.offsetSeconds }] : [])];
  const sources = starts.flatMap(({ id, offsetSeconds }): PlanSource[] => {
    const sound = sounds.get(id);
    return sound ? [{ id, startFrame: Math.round(offsetSeconds * sampleRate), frames: framesOf(sound) }] : [];
  });
  const gap = longestSilence({ sources });
  if (!gap || gap.frames <= LONGEST_SILENCE_SECONDS * sampleRate) return null;
  const at = tracks.findIndex(({ id }) => id === gap.source.id);
  const { name, offsetSeconds } = tracks[at] ?? { name: 'the rough', offsetSeconds: rough!.offsetSeconds };
  const silent = (gap.frames / sampleRate).toFixed(0);
  return {
    code: 'out-of-range',
    path: `${at < 0 ? 'rough' : `tracks[${at}]`}.offsetSeconds`,
    expected: `a place at most ${LONGEST_SILENCE_SECONDS} s after the sound before it`,
    found: `${offsetSeconds} (nothing sounds for ${silent} s before ${name} begins)`,
  };
};
