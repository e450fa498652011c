import { framesOf, type Sound } from '../../audio/audio.ts';
import type { InputChannels } from '../../dsp/core/strip.ts';
import { cacheKey, divide, pathsFrom, runFrames, type Executor, type RenderOptions } from '../executor.ts';
import type { Plan, PlanStrip } from '../plan/plan.ts';
import { endless } from '../section.ts';
import type { Sources } from '../plan/sources.ts';
import { memoryRoom } from '../store/room.ts';
import type { StripSound } from '../strip-cache.ts';
import { PoolJob, type JobPart } from './pool-job.ts';
import type { StripPort } from './strip-port.ts';
import { StripRun, type Feed } from './strip-run.ts';

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

/** A strip that renders which follow one another may want. */
interface Shared {
  readonly run: StripRun;
  /** The row of renders that began it. */
  readonly row: string;
}

/**
 * Renders in as many threads as there are hosts, strip beside strip, each as soon as the stretch of what feeds it is there. A strip
 * stays with its host; one that stands idle takes over, with its state, what waits for a busy one. The sound is the same for any
 * number of hosts. A strip is stopped at any stretch and goes on from there: what renders of one row have in common is run once.
 */
export class StripPool {
  private readonly ports: StripPort[];
  /** Stretches that each host has been given and not answered; none: it stands idle. */
  private readonly given = new Map<StripPort, number>();
  private jobs: PoolJob[] = [];
  private lastNumber = 0;
  /** By the key of their sound: strips under way, and those that a stopped render has left. */
  private readonly shared = new Map<string, Shared>();

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
    const parts = strips.map((strip): JobPart => ({ strip, run: this.runOf(plan, strip, options) }));
    const job = new PoolJob(plan, parts, feed, options);
    this.jobs.push(job);
    if (options.follows !== undefined) this.letGoOfRow(options.follows);
    const { signal } = options;
    const stop = (): void => job.end(signal!.reason);
    signal?.addEventListener('abort', stop, { once: true });
    for (const { strip, run } of parts) sounds.set(strip.id, run.sound);
    options.onBegun?.({ paths: pathsFrom(plan, sounds), reach: (id) => job.reach(id) });
    job.endWhereDone();
    this.goOn();
    try {
      await job.ended;
    } finally {
      signal?.removeEventListener('abort', stop);
      this.jobs = this.jobs.filter((each) => each !== job);
      this.leave(job);
    }
  }

  /** Where a strip is: at its beginning, or where another render of its row has it. */
  private runOf(plan: Plan, strip: PlanStrip, { room = memoryRoom, follows, part }: RenderOptions): StripRun {
    const key = cacheKey(plan, strip);
    const known = follows === undefined ? undefined : this.shared.get(key)?.run;
    if (known?.room === room) return known;
    const run = new StripRun(part ? endless(strip.spec) : strip.spec, ++this.lastNumber, runFrames(plan), room, part);
    if (follows !== undefined && !known) this.shared.set(key, { run, row: follows });
    return run;
  }

  private isWanted(run: StripRun): boolean {
    return this.jobs.some((job) => job.has(run));
  }

  /** What renders of this row have left, and the newest does not go on with. */
  private letGoOfRow(row: string): void {
    this.letGo([...this.shared.values()].flatMap((each) => (each.row === row ? [each.run] : [])));
  }

  /** A job is over: what it has not done is left for the next of its row, all else is let go. */
  private leave(job: PoolJob): void {
    const isLeft = (run: StripRun): boolean =>
      !run.isDone && [...this.shared.values()].some((each) => each.run === run);
    this.letGo(job.parts.map(({ run }) => run).filter((run) => !isLeft(run)));
  }

  private letGo(runs: readonly StripRun[]): void {
    const gone = runs.filter((run) => !this.isWanted(run));
    for (const run of gone) run.isLetGo = true;
    for (const [key, { run }] of this.shared) if (run.isLetGo) this.shared.delete(key);
    const numbers = gone.map(({ number }) => number);
    if (numbers.length > 0) for (const port of this.ports) drop(port, numbers);
  }

  private givenTo(port: StripPort | null): number {
    return (port && this.given.get(port)) ?? 0;
  }

  /** Gives work to every host that stands idle, then to those that are to have some ahead. */
  private goOn(): void {
    const most = Math.max(...this.ports.map(({ ahead }) => ahead));
    for (let depth = 0; depth < most; depth++)
      for (const port of this.ports) {
        if (this.givenTo(port) !== depth || depth >= port.ahead) continue;
        const found = this.workFor(port);
        if (found) void this.advance(port, ...found);
      }
  }

  /**
   * The next work of a host: of all jobs in turn, the earliest stretch in the song of a strip that it holds or nobody
   * holds; else one that waits for a busy host.
   */
  private workFor(port: StripPort): readonly [PoolJob, JobPart] | null {
    const work = this.jobs.flatMap((job): (readonly [PoolJob, JobPart])[] => {
      const part = job.isOver ? undefined : this.partFor(job, port);
      return part ? [[job, part]] : [];
    });
    const [first] = work;
    if (!first) return null;
    const { abreast } = first[0].options;
    const together = abreast === undefined ? [] : work.filter(([{ options }]) => options.abreast === abreast);
    const chosen = together.reduce((one, other) => (other[1].run.done < one[1].run.done ? other : one), first);
    // Jobs that overlap take turns.
    this.jobs = [...this.jobs.filter((each) => each !== chosen[0]), chosen[0]];
    return chosen;
  }

  private partFor({ ready }: PoolJob, port: StripPort): JobPart | undefined {
    const own = ready.find(({ run }) => run.port === port || run.port === null);
    return own ?? (this.givenTo(port) === 0 ? this.waiting(ready) : undefined);
  }

  /** The last of several strips that wait for one busy host: the first of them is its own next. */
  private waiting(ready: readonly JobPart[]): JobPart | undefined {
    const firstOf = (port: StripPort | null): number => ready.findIndex(({ run }) => run.port === port);
    return ready.findLast(({ run }, n) => this.givenTo(run.port) > 0 && firstOf(run.port) < n);
  }

  private async advance(port: StripPort, job: PoolJob, part: JobPart): Promise<void> {
    const { run } = part;
    this.given.set(port, this.givenTo(port) + 1);
    run.isBusy = true;
    try {
      await this.bring(run, port, job);
      await port.run(run.number, job.inputsOf(part), run.next.frames, (left, right) => run.keep(left, right));
      run.advance();
      run.isBusy = false;
      for (const each of this.jobs) if (!each.isOver && each.has(run)) each.advance(run);
    } catch (error) {
      for (const each of this.jobs) if (each.has(run)) each.end(error);
      // Nobody knows where it stands.
      for (const [key, each] of this.shared) if (each.run === run) this.shared.delete(key);
      run.isLetGo = true;
    }
    if (run.isLetGo) drop(port, [run.number]);
    this.given.set(port, this.givenTo(port) - 1);
    this.goOn();
  }

  /** Has a strip begin at a host, or go on there. */
  private async bring(run: StripRun, port: StripPort, job: PoolJob): Promise<void> {
    if (run.port === port) return;
    const state = (await run.port?.leave(run.number)) ?? null;
    await port.begin(run.number, { spec: run.spec, sampleRate: job.sampleRate, state, from: run.next.from });
    run.port = port;
  }
}

const drop = (port: StripPort, numbers: readonly number[]): void => void port.drop(numbers).catch(() => undefined);

const feedOf = (plan: Plan, sources: Sources, known: ReadonlyMap<string, StripSound>): Feed => {
  const starts = new Map(plan.sources.map(({ id, startFrame }) => [id, startFrame]));
  return ({ kind, id }, from, frames) => {
    if (kind === 'source') return sourceStretch(sources.get(id)!, starts.get(id)!, from, frames);
    const { left, right } = known.get(id)!;
    return [left.subarray(from, from + frames), right.subarray(from, from + frames)];
  };
};
