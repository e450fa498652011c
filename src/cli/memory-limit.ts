import { freemem } from 'node:os';
import { renderBytes } from '../render/memory.ts';
import type { Plan } from '../render/plan.ts';
import { longestSilence } from '../render/silence-before.ts';
import { ProblemError } from '../session/problem.ts';
import type { Session } from '../session/schema.ts';

/**
 * Memory that a render may take, bytes: three quarters of what is free now, and never more than 12 GB, which a song of four
 * minutes with 32 tracks and 26 chains stays below.
 */
const memoryBudget = (): number => Math.min(0.75 * freemem(), 12e9);

const gigabytes = (size: number): string => `${(size / 1e9).toFixed(1)} GB`;

/** Silence within a song beyond which one of its tracks is taken to be misplaced, seconds. Our own choice. */
const LONGEST_SILENCE_SECONDS = 600;

/** @throws ProblemError when a track begins so late that the song is silent for very long before it: that takes as long to render as music */
const requireNoGap = (path: string, { tracks, rough }: Session, plan: Plan): void => {
  const gap = longestSilence(plan);
  if (!gap || gap.frames <= LONGEST_SILENCE_SECONDS * plan.sampleRate) return;
  const at = tracks.findIndex(({ id }) => id === gap.source.id);
  const { name, offsetSeconds } = tracks[at] ?? { name: 'the rough', offsetSeconds: rough!.offsetSeconds };
  const silent = (gap.frames / plan.sampleRate).toFixed(0);
  throw new ProblemError({
    code: 'out-of-range',
    path: `${path}: ${at < 0 ? 'rough' : `tracks[${at}]`}.offsetSeconds`,
    expected: `a place at most ${LONGEST_SILENCE_SECONDS} s after the sound before it`,
    found: `${offsetSeconds} (nothing sounds for ${silent} s before ${name} begins)`,
  });
};

/**
 * @throws ProblemError when nothing sounds in a session of `path`, or it is silent for too long at a time, or its render would take more
 * memory than is allowed
 */
export const requireRenderable = (path: string, session: Session, plan: Plan): void => {
  const { tracks } = session;
  if (plan.frames === 0) {
    const expected = 'at least one track that is on and sounds';
    throw new ProblemError({ code: 'mismatch', path: `${path}: tracks`, expected, found: 'none' });
  }
  const bytes = renderBytes(plan);
  const budget = memoryBudget();
  if (bytes <= budget) {
    requireNoGap(path, session, plan);
    return;
  }
  const [latest] = [...tracks].sort((a, b) => b.offsetSeconds - a.offsetSeconds);
  const expected = `a song that takes at most ${gigabytes(budget)} of memory to render, as much as this machine has to spare (${latest!.name} begins at ${latest!.offsetSeconds} s)`;
  const seconds = (plan.frames / plan.sampleRate).toFixed(0);
  const found = `${seconds} s in ${plan.strips.length} chains, which take ${gigabytes(bytes)}`;
  throw new ProblemError({ code: 'mismatch', path: `${path}: tracks`, expected, found });
};
