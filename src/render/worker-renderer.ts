import type { Audio } from '../audio/audio.ts';
import type { StripSpec } from '../dsp/core/strip.ts';
import { cacheKey, divide, pathsFrom, type Executor, type RenderOptions } from './executor.ts';
import type { Plan, PlanStrip } from './plan.ts';
import type { RenderReply, RenderRequest } from './render-messages.ts';
import RenderWorker from './render.worker.ts?worker';
import type { Sources } from './sources.ts';
import type { StripSound } from './strip-cache.ts';
import { WorkerInputs, type Input } from './worker-inputs.ts';

type Made = ReadonlyMap<string, StripSound>;

/** A job that is under way. */
interface Job {
  readonly onProgress: ((part: number) => void) | undefined;
  /** Takes what has been run, even of a job that was stopped: it may serve the next. */
  readonly take: (made: Made, fault: string | null) => void;
  readonly fail: (reason: Error) => void;
}

const NOTHING: StripSpec = { inputs: [], keyInputs: [], steps: [] };

/** The plan with `run` as its paths; of strips that are not run only the place and the latency go along. */
const planOfJob = (plan: Plan, run: readonly PlanStrip[]): Plan => {
  const running = new Set(run);
  const feeding = new Set(run.flatMap(({ from }) => from.map(({ kind, id }) => `${kind} ${id}`)));
  return {
    ...plan,
    sources: plan.sources.filter(({ id }) => feeding.has(`source ${id}`)),
    strips: plan.strips.map((strip) => (running.has(strip) ? strip : { ...strip, spec: NOTHING })),
    paths: run.map(({ id }) => ({ id, kind: 'bus', gain: 1 })),
    mixBus: { trimGain: 1, steps: [] },
  };
};

/** Whether a strip feeds one of those that are run. */
const feeds = (plan: Plan, id: string): boolean => {
  const run = new Set(plan.paths.map((path) => path.id));
  return plan.strips.some(
    (strip) => run.has(strip.id) && strip.from.some((ref) => ref.kind === 'strip' && ref.id === id),
  );
};

const sourceInput = (audio: Audio): Input => ({ of: audio, ...audio });
const stripInput = (strip: StripSound, sampleRate: number): Input => ({
  of: strip,
  sampleRate,
  channels: [strip.left, strip.right],
});

/**
 * Renders in a worker of its own, by the direct executor: its module is loaded once, the sound that a job needs is copied
 * over once, and what was rendered moves back without a copy. A job that is stopped ends within a twentieth of a second.
 */
export class WorkerRenderer {
  private worker: Worker | null = null;
  /** What is told before the worker listens, which would be lost; null: it listens. */
  private early: (() => void)[] | null = null;
  private readonly jobs = new Map<number, Job>();
  private lastJob = 0;
  private readonly inputs = new WorkerInputs((request, transfer) => this.tell(request, transfer));

  /** The executor that the app renders with. */
  readonly render: Executor = async (plan: Plan, sources: Sources, options: RenderOptions = {}) => {
    options.signal?.throwIfAborted();
    const { run, known: sounds } = divide(plan, options.cache);
    options.onProgress?.(0);
    // Whoever is told may withdraw it.
    options.signal?.throwIfAborted();
    if (run.length > 0) {
      const made = await this.run(planOfJob(plan, run), sources, sounds, options);
      for (const strip of run) sounds.set(strip.id, made.get(cacheKey(plan, strip))!);
    }
    options.signal?.throwIfAborted();
    options.onProgress?.(1);
    return pathsFrom(plan, sounds);
  };

  dispose(): void {
    this.worker?.terminate();
    this.worker = null;
  }

  private run(
    plan: Plan,
    sources: Sources,
    known: ReadonlyMap<string, StripSound>,
    { cache, signal, onProgress }: RenderOptions,
  ): Promise<Made> {
    const number = ++this.lastJob;
    const strips = plan.strips.filter(({ id }) => known.has(id) && feeds(plan, id));
    const job: RenderRequest = {
      kind: 'job',
      job: number,
      plan,
      sources: plan.sources.map(({ id }) => [id, this.inputs.numberOf(sources.get(id)!)]),
      strips: strips.map((strip) => [cacheKey(plan, strip), this.inputs.numberOf(known.get(strip.id)!)]),
    };
    const needed = [
      ...plan.sources.map(({ id }) => sourceInput(sources.get(id)!)),
      ...strips.map(({ id }) => stripInput(known.get(id)!, plan.sampleRate)),
    ];
    return new Promise((resolve, reject) => {
      const stop = (): void => {
        this.tell({ kind: 'stop', job: number });
        reject(signal!.reason as Error);
      };
      const take = (made: Made, fault: string | null): void => {
        signal?.removeEventListener('abort', stop);
        for (const [key, sound] of made) cache?.set(key, sound);
        if (fault === null) resolve(made);
        else reject(new Error(fault));
      };
      const begin = (): void => {
        this.jobs.set(number, { onProgress, take, fail: reject });
        this.tell(job);
      };
      signal?.addEventListener('abort', stop, { once: true });
      void this.inputs.provide(needed, begin, signal);
    });
  }

  private tell(request: RenderRequest, transfer: Transferable[] = []): void {
    const worker = (this.worker ??= this.start());
    const send = (): void => worker.postMessage(request, transfer);
    if (this.early) this.early.push(send);
    else send();
  }

  private start(): Worker {
    const worker = new RenderWorker();
    this.early = [];
    worker.onmessage = ({ data }: MessageEvent<RenderReply>) => {
      if (data.kind === 'listening') {
        const { early } = this;
        this.early = null;
        for (const send of early ?? []) send();
        return;
      }
      const job = this.jobs.get(data.job);
      if (data.kind === 'progress') return job?.onProgress?.(data.part);
      this.jobs.delete(data.job);
      job?.take(new Map(data.strips), data.fault);
    };
    worker.onerror = (event) => this.lose(event.message);
    return worker;
  }

  /** The worker is gone: the next job starts another. */
  private lose(why: string): void {
    this.dispose();
    this.inputs.forget();
    const jobs = [...this.jobs.values()];
    this.jobs.clear();
    for (const job of jobs) job.fail(new Error(`the rendering worker stopped: ${why}`));
  }
}
