import { expose, transfer, wrap, type Endpoint, type Remote } from 'comlink';
import type { RunningState } from '../../dsp/core/running-state.ts';
import type { InputChannels } from '../../dsp/core/strip.ts';
import { StripHost, type Stretch, type StripHosting, type StripStart } from './strip-host.ts';

/** A host as the pool speaks to it, wherever it runs. Rejects when it has failed or is gone. */
export interface StripPort {
  begin(strip: number, start: StripStart): Promise<void>;
  run(strip: number, inputs: readonly InputChannels[], frames: number): Promise<Stretch>;
  leave(strip: number): Promise<RunningState>;
  drop(strips: readonly number[]): Promise<void>;
  /** Ends its thread, where it has one. */
  close(): void;
}

/** The event loop gets a turn at least this often, so that progress shows and a cancel is heard, ms. */
const TURN_MS = 50;

const turn = (): Promise<void> => new Promise((resolve) => setTimeout(resolve, 0));

/** A host in this thread. */
export class LocalStripPort implements StripPort {
  private readonly host = new StripHost();
  private last = performance.now();

  begin(strip: number, start: StripStart): Promise<void> {
    return Promise.resolve(this.host.begin(strip, start));
  }

  async run(strip: number, inputs: readonly InputChannels[], frames: number): Promise<Stretch> {
    if (performance.now() - this.last > TURN_MS) {
      await turn();
      this.last = performance.now();
    }
    return this.host.run(strip, inputs, frames);
  }

  leave(strip: number): Promise<RunningState> {
    return Promise.resolve(this.host.leave(strip));
  }

  drop(strips: readonly number[]): Promise<void> {
    return Promise.resolve(this.host.drop(strips));
  }

  close(): void {}
}

const copied = (inputs: readonly InputChannels[]): InputChannels[] =>
  inputs.map((channels) => channels.map((channel) => channel.slice()));

/** A host in a thread of its own; sound moves over as copies. */
export class RemoteStripPort implements StripPort {
  private readonly host: Remote<StripHosting>;
  private fault: Error | null = null;
  private readonly failing = new Set<(error: Error) => void>();

  constructor(
    endpoint: Endpoint,
    private readonly end: () => void,
  ) {
    this.host = wrap<StripHosting>(endpoint);
  }

  begin(strip: number, start: StripStart): Promise<void> {
    return this.answer(this.host.begin(strip, start));
  }

  run(strip: number, inputs: readonly InputChannels[], frames: number): Promise<Stretch> {
    const sent = copied(inputs);
    const buffers = sent.flatMap((channels) => channels.map(({ buffer }) => buffer as ArrayBuffer));
    return this.answer(this.host.run(strip, transfer(sent, buffers), frames));
  }

  leave(strip: number): Promise<RunningState> {
    return this.answer(this.host.leave(strip));
  }

  drop(strips: readonly number[]): Promise<void> {
    return this.answer(this.host.drop([...strips]));
  }

  /** Its thread has failed: all that it was asked, and is asked from now on, is refused. */
  fail(error: Error): void {
    this.fault = error;
    for (const refuse of this.failing) refuse(error);
    this.failing.clear();
  }

  close(): void {
    this.end();
  }

  private answer<T>(asked: Promise<T>): Promise<T> {
    if (this.fault) return Promise.reject(this.fault);
    return new Promise((resolve, reject) => {
      this.failing.add(reject);
      asked.then(resolve, reject).finally(() => this.failing.delete(reject));
    });
  }
}

const moved = (stretch: Stretch): Stretch =>
  stretch && transfer(stretch, [stretch.left.buffer as ArrayBuffer, stretch.right.buffer as ArrayBuffer]);

/** Answers at the other end of a remote port. */
export const exposeStripHost = (endpoint: Endpoint): void => {
  const host = new StripHost();
  const hosting: StripHosting = {
    begin: (strip, start) => host.begin(strip, start),
    run: (strip, inputs, frames) => moved(host.run(strip, inputs, frames)),
    leave: (strip) => host.leave(strip),
    drop: (strips) => host.drop(strips),
  };
  expose(hosting, endpoint);
};
