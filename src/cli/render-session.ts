import { freemem } from 'node:os';
import { renderDirect } from '../render/direct.ts';
import { soundOf, type RenderedPaths } from '../render/executor.ts';
import { asReceived, makePlan } from '../render/make-plan.ts';
import type { Plan } from '../render/plan.ts';
import { renderBytes } from '../render/memory.ts';
import { settledPlan } from '../render/print.ts';
import { factsOf, sourcesAt, type Sources } from '../render/sources.ts';
import { StripCache } from '../render/strip-cache.ts';
import { ProblemError } from '../session/problem.ts';
import type { Session } from '../session/schema.ts';
import { hasVocals, variantOf, type Variant } from '../session/variants.ts';
import type { SessionOnDisk } from './session-on-disk.ts';

/** A plan with its paths. */
export interface Rendered {
  readonly plan: Plan;
  readonly paths: RenderedPaths;
}

/** @throws ProblemError when the session of `path` has no group that is marked as vocal */
export const requireVocals = (session: Session, path: string, variant: Variant): void => {
  if (hasVocals(session)) return;
  const expected = `at least one group with "vocal": true for a print of kind "${variant}"`;
  throw new ProblemError({ code: 'mismatch', path: `${path}: groups`, expected, found: 'none' });
};

/**
 * Memory that a render may take, bytes: three quarters of what is free now, and never more than 12 GB, which a song of four
 * minutes with 32 tracks and 26 chains stays below.
 */
const memoryBudget = (): number => Math.min(0.75 * freemem(), 12e9);

/** Renders a session, and the same tracks as they were received. */
export class SessionRenderer {
  /** Sound of the tracks at the session's rate. */
  readonly sources: Sources;
  private readonly cache = new StripCache();

  constructor(
    private readonly disk: SessionOnDisk,
    private readonly path: string,
    private readonly onProgress: (done: number) => void,
  ) {
    this.sources = sourcesAt(disk.session.sampleRate, disk.session.tracks, disk.sounds);
  }

  private planOf(session: Session): Plan {
    return makePlan(session, factsOf(this.sources), this.disk.chainSounds);
  }

  private async render(session: Session, cache?: StripCache): Promise<Rendered> {
    const plan = this.planOf(session);
    if (plan.frames === 0) {
      const expected = 'at least one track that is on and sounds';
      throw new ProblemError({ code: 'mismatch', path: `${this.path}: tracks`, expected, found: 'none' });
    }
    this.requireMemory(plan, session);
    const paths = await renderDirect(plan, this.sources, { onProgress: this.onProgress, ...(cache ? { cache } : {}) });
    return { plan: settledPlan(plan, paths), paths };
  }

  /** @throws ProblemError when the render would take more memory than is allowed */
  private requireMemory(plan: Plan, { tracks }: Session): void {
    const bytes = renderBytes(plan, this.sources);
    const budget = memoryBudget();
    if (bytes <= budget) return;
    const gigabytes = (size: number): string => `${(size / 1e9).toFixed(1)} GB`;
    const [latest] = [...tracks].sort((a, b) => b.offsetSeconds - a.offsetSeconds);
    const expected = `a song that takes at most ${gigabytes(budget)} of memory to render, as much as this machine has to spare (${latest!.name} begins at ${latest!.offsetSeconds} s)`;
    const seconds = (plan.frames / plan.sampleRate).toFixed(0);
    const found = `${seconds} s in ${plan.strips.length} chains, which take ${gigabytes(bytes)}`;
    throw new ProblemError({ code: 'mismatch', path: `${this.path}: tracks`, expected, found });
  }

  /** The session as it stands, or the same with another mix. */
  mix(session: Session = this.disk.session): Promise<Rendered> {
    return this.render(session);
  }

  /** The session without its vocal groups, or with nothing else. @throws ProblemError when no group is marked as vocal */
  async variant(variant: Variant): Promise<Rendered> {
    const { session } = this.disk;
    requireVocals(session, this.path, variant);
    return this.render(variantOf(session, variant));
  }

  /** The session with something changed, after `mix` or another change: only what depends on it is rendered again. */
  changed(session: Session): Promise<Rendered> {
    return this.render(session, this.cache);
  }

  /** The session with other blends, after `before`: its paths as they are where none hangs on a blend that moved. */
  async withBlends(session: Session, before: Rendered): Promise<Rendered> {
    const plan = this.planOf(session);
    if (soundOf(plan) !== soundOf(before.plan)) return this.changed(session);
    return { plan: settledPlan(plan, before.paths), paths: before.paths };
  }

  /** Its tracks alone: no chains, no buses, faders at 0 dB. */
  received(): Promise<Rendered> {
    return this.render(asReceived(this.disk.session));
  }
}
