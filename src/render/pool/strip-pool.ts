import { framesOf, type Sound } from '../../audio/audio.ts';
import type { InputChannels } from '../../dsp/core/strip.ts';
import { cacheKey, divide, pathsFrom, runFrames, type Executor, type RenderOptions } from '../executor.ts';
import type { Plan, PlanStrip } from '../plan.ts';
import type { Sources } from '../sources.ts';
import { memoryRoom } from '../store/room.ts';
import type { StripSound } from '../strip-cache.ts';
import type { StripPort } from './strip-port.ts';
import { STRETCH_FRAMES, StripRun, type Feed } from './strip-run.ts';

/** Frames from..from + frames - 1 of a source that begins at `startFrame`; silent where it does not sound. */
const sourceStretch = (audio: Sound, startFrame: number, from: number, frames: number): InputChannels => {
  const first = Math.max(from, startFrame);
  const last = Math.min(from + frames, startFrame + framesOf(audio));
  if (first >= last) return [];
  return audio.channels.slice(0, 2).map((channel) => {
    const part = channel.subarray(first - startFrame, last - startFrame);
    if (part.length === frames) return part;
    const stretch = new Float32Array(frames);
    stretch.set(part, first - from);
    return stretch;
  });
};

/** One render in progress: its strips, and who waits for it. */
class Job {
  readonly runs: readonly StripRun[];
  readonly numbers: readonly number[];
  private readonly byId: ReadonlyMap<string, StripRun>;
  /** Stretches of all strips together. */
  private readonly stretches: number;
  private done = 0;
  readonly ended: Promise<void>;
  private resolve!: () => void;
  private reject!: (error: unknown) => void;
  isOver = false;

  constructor(
    private readonly plan: Plan,
    run: readonly PlanStrip[],
    private readonly feed: Feed,
    private readonly options: RenderOptions,
    firstNumber: number,
  ) {
    const frames = runFrames(plan);
    const { room = memoryRoom } = options;
    this.runs = run.map((strip, n) => new StripRun(strip, firstNumber + n, frames, room));
    this.numbers = this.runs.map(({ number }) => number);
    this.byId = new Map(this.runs.map((each) => [each.strip.id, each]));
    this.stretches = run.length * Math.ceil(frames / STRETCH_FRAMES);
    this.ended = new Promise((resolve, reject) => {
      this.resolve = resolve;
      this.reject = reject;
    });
  }

  get sampleRate(): number {
    return this.plan.sampleRate;
  }

  /** Strips whose next stretch can be run, what is earlier in the song first. */
  get ready(): readonly StripRun[] {
    return this.runs.filter((each) => this.isReady(each)).sort((a, b) => a.done - b.done);
  }

  private isReady({ strip, done, isBusy, isDone }: StripRun): boolean {
    if (isBusy || isDone) return false;
    return strip.from.every(({ kind, id }) => kind === 'source' || (this.byId.get(id)?.done ?? Infinity) > done);
  }

  /** What comes to a strip over its next stretch. */
  inputsOf({ strip, next: { from, frames } }: StripRun): readonly InputChannels[] {
    return strip.from.map((ref) => {
      const running = ref.kind === 'strip' ? this.byId.get(ref.id) : undefined;
      if (!running) return this.feed(ref, from, frames);
      const { left, right } = running.sound;
      return [left.subarray(from, from + frames), right.subarray(from, from + frames)];
    });
  }

  /** A stretch has been taken; what is whole goes into the cache at once, so that a render that is stopped is not lost. */
  advance(run: StripRun): void {
    this.done++;
    const { plan, options } = this;
    if (run.isDone) options.cache?.set(cacheKey(plan, run.strip), run.sound);
    options.onProgress?.(this.done / this.stretches);
    if (this.done === this.stretches) this.end();
  }

  end(error?: unknown): void {
    if (this.isOver) return;
    this.isOver = true;
    if (error === undefined) this.resolve();
    else this.reject(error);
  }
}

/**
 * Renders in as many threads as there are hosts, strip beside strip, each as soon as the stretch of what feeds it is there. A strip
 * stays with its host; one that stands idle takes over, with its state, what waits for a busy one. The sound is the same for any
 * number of hosts.
 */
export class StripPool {
  private readonly ports: StripPort[];
  private readonly busy = new Set<StripPort>();
  private jobs: Job[] = [];
  private lastNumber = 0;

  /** @param ports at least one host */
  constructor(ports: readonly StripPort[]) {
    this.ports = [...ports];
  }

  readonly render: Executor = async (plan: Plan, sources: Sources, options: RenderOptions = {}) => {
    options.signal?.throwIfAborted();
    const { run, known: sounds } = divide(plan, options.cache);
    options.onProgress?.(0);
    // Whoever is told may withdraw it.
    options.signal?.throwIfAborted();
    if (run.length > 0) await this.run(plan, run, feedOf(plan, sources, sounds), options, sounds);
    options.onProgress?.(1);
    return pathsFrom(plan, sounds);
  };

  dispose(): void {
    for (const job of this.jobs) job.end(new DOMException('the renderer was closed', 'AbortError'));
    for (const port of this.ports) port.close();
  }

  private async run(
    plan: Plan,
    strips: readonly PlanStrip[],
    feed: Feed,
    options: RenderOptions,
    sounds: Map<string, StripSound>,
  ): Promise<void> {
    const job = new Job(plan, strips, feed, options, this.lastNumber + 1);
    this.lastNumber += strips.length;
    const { signal } = options;
    const stop = (): void => job.end(signal!.reason);
    signal?.addEventListener('abort', stop, { once: true });
    this.jobs.push(job);
    this.goOn();
    try {
      await job.ended;
    } finally {
      signal?.removeEventListener('abort', stop);
      this.jobs = this.jobs.filter((each) => each !== job);
      for (const port of this.ports) void port.drop(job.numbers).catch(() => undefined);
    }
    for (const each of job.runs) sounds.set(each.strip.id, each.sound);
  }

  /** Gives work to every host that stands idle. */
  private goOn(): void {
    for (const port of this.ports) {
      if (this.busy.has(port)) continue;
      const found = this.workFor(port);
      if (found) void this.advance(port, ...found);
    }
  }

  /**
   * The next work of a host: of all jobs in turn, the earliest stretch in the song of a strip that it holds or nobody
   * holds; else one that waits for a busy host.
   */
  private workFor(port: StripPort): readonly [Job, StripRun] | null {
    for (const job of this.jobs) {
      if (job.isOver) continue;
      const { ready } = job;
      const chosen = ready.find((run) => run.port === port || run.port === null) ?? this.waiting(ready);
      if (!chosen) continue;
      // Jobs that overlap take turns.
      this.jobs = [...this.jobs.filter((each) => each !== job), job];
      return [job, chosen];
    }
    return null;
  }

  /** The last of several strips that wait for one busy host: the first of them is its own next. */
  private waiting(ready: readonly StripRun[]): StripRun | undefined {
    return ready.findLast((run, n) => this.busy.has(run.port!) && ready.findIndex(({ port }) => port === run.port) < n);
  }

  private async advance(port: StripPort, job: Job, run: StripRun): Promise<void> {
    this.busy.add(port);
    run.isBusy = true;
    try {
      await this.bring(run, port, job);
      run.take(await port.run(run.number, job.inputsOf(run), run.next.frames));
      run.isBusy = false;
      if (!job.isOver) job.advance(run);
      else void port.drop(job.numbers).catch(() => undefined);
    } catch (error) {
      job.end(error);
    }
    this.busy.delete(port);
    this.goOn();
  }

  /** Has a strip begin at a host, or go on there. */
  private async bring(run: StripRun, port: StripPort, job: Job): Promise<void> {
    if (run.port === port) return;
    const state = (await run.port?.leave(run.number)) ?? null;
    await port.begin(run.number, { spec: run.strip.spec, sampleRate: job.sampleRate, state });
    run.port = port;
  }
}

const feedOf = (plan: Plan, sources: Sources, known: ReadonlyMap<string, StripSound>): Feed => {
  const starts = new Map(plan.sources.map(({ id, startFrame }) => [id, startFrame]));
  return ({ kind, id }, from, frames) => {
    if (kind === 'source') return sourceStretch(sources.get(id)!, starts.get(id)!, from, frames);
    const { left, right } = known.get(id)!;
    return [left.subarray(from, from + frames), right.subarray(from, from + frames)];
  };
};
