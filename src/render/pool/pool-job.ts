import type { InputChannels } from '../../dsp/core/strip.ts';
import { cacheKey, type RenderOptions } from '../executor.ts';
import type { Plan, PlanStrip } from '../plan/plan.ts';
import type { StripRun, Feed } from './strip-run.ts';

/** A strip of a render in progress. */
export interface JobPart {
  readonly strip: PlanStrip;
  /** Where it is; another render may want the same. */
  readonly run: StripRun;
}

/** One render in progress: its strips, and who waits for it. */
export class PoolJob {
  private readonly byId: ReadonlyMap<string, JobPart>;
  private readonly runs: ReadonlySet<StripRun>;
  readonly ended: Promise<void>;
  private resolve!: () => void;
  private reject!: (error: unknown) => void;
  isOver = false;

  constructor(
    private readonly plan: Plan,
    readonly parts: readonly JobPart[],
    private readonly feed: Feed,
    readonly options: RenderOptions,
  ) {
    this.byId = new Map(parts.map((part) => [part.strip.id, part]));
    this.runs = new Set(parts.map(({ run }) => run));
    this.ended = new Promise((resolve, reject) => {
      this.resolve = resolve;
      this.reject = reject;
    });
  }

  get sampleRate(): number {
    return this.plan.sampleRate;
  }

  has(run: StripRun): boolean {
    return this.runs.has(run);
  }

  /** Strips whose next stretch can be run, what is earlier in the song first. */
  get ready(): readonly JobPart[] {
    return this.parts.filter((each) => this.isReady(each)).sort((a, b) => a.run.done - b.run.done);
  }

  private isReady({ strip, run: { done, isBusy, isDone } }: JobPart): boolean {
    if (isBusy || isDone) return false;
    return strip.from.every(({ kind, id }) => kind === 'source' || (this.byId.get(id)?.run.done ?? Infinity) > done);
  }

  /** What comes to a strip over its next stretch. */
  inputsOf({ strip, run: { next } }: JobPart): readonly InputChannels[] {
    const { from, frames } = next;
    return strip.from.map((ref) => {
      const feeding = ref.kind === 'strip' ? this.byId.get(ref.id) : undefined;
      if (!feeding) return this.feed(ref, from, frames);
      const { left, right } = feeding.run.sound;
      return [left.subarray(from, from + frames), right.subarray(from, from + frames)];
    });
  }

  /** Frames of a path that are there, from the start of the song; Infinity: all. */
  reach(id: string): number {
    const part = this.byId.get(id);
    if (!part || part.run.isDone) return Infinity;
    return Math.max(0, part.run.doneFrames - part.strip.latency);
  }

  /** A stretch of this strip has been taken; what is whole goes into the cache at once, so that a render that is stopped is not lost. */
  advance(run: StripRun): void {
    const { plan, options } = this;
    if (run.isDone)
      for (const { strip, run: own } of this.parts)
        if (own === run) options.cache?.set(cacheKey(plan, strip), run.sound);
    options.onProgress?.(this.parts.reduce((sum, each) => sum + each.run.part, 0) / this.parts.length);
    this.endWhereDone();
  }

  endWhereDone(): void {
    if (this.parts.every(({ run }) => run.isDone)) this.end();
  }

  end(error?: unknown): void {
    if (this.isOver) return;
    this.isOver = true;
    if (error === undefined) this.resolve();
    else this.reject(error);
  }
}
