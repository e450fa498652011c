import { freemem } from 'node:os';
import { renderBytes } from '../render/memory.ts';
import type { Planned } from '../engine/song.ts';
import { gapProblem } from '../render/plan/silence-before.ts';
import { inFile, ProblemError } from '../session/problem.ts';
import type { Session } from '../session/schema.ts';

/**
 * Memory that a render may take, bytes: three quarters of what is free now, and never more than 12 GB, which a song of four
 * minutes with 32 tracks and 26 chains stays below.
 */
const memoryBudget = (): number => Math.min(0.75 * freemem(), 12e9);

const gigabytes = (size: number): string => `${(size / 1e9).toFixed(1)} GB`;

/**
 * @throws ProblemError when nothing sounds in a session of `path`, or it is silent for too long at a time, or its render would take more
 * memory than is allowed
 */
export const requireRenderable = (path: string, session: Session, { plan, sources }: Planned): void => {
  const { tracks } = session;
  if (plan.frames === 0) {
    const expected = 'at least one track that is on and sounds';
    throw new ProblemError({ code: 'mismatch', path: `${path}: tracks`, expected, found: 'none' });
  }
  const gap = gapProblem(session, sources);
  if (gap) throw new ProblemError(inFile(path, gap));
  const bytes = renderBytes(plan);
  const budget = memoryBudget();
  if (bytes <= budget) return;
  const [latest] = [...tracks].sort((a, b) => b.offsetSeconds - a.offsetSeconds);
  const expected = `a song that takes at most ${gigabytes(budget)} of memory to render, as much as this machine has to spare (${latest!.name} begins at ${latest!.offsetSeconds} s)`;
  const seconds = (plan.frames / plan.sampleRate).toFixed(0);
  const found = `${seconds} s in ${plan.strips.length} chains, which take ${gigabytes(bytes)}`;
  throw new ProblemError({ code: 'mismatch', path: `${path}: tracks`, expected, found });
};
