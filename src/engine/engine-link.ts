import { wrap } from 'comlink';
import EngineWorker from './worker/engine.worker.ts?worker';
import type { EngineMessage, RemoteCalls } from './worker/protocol.ts';

/** One worker of the engine, as long as it lives. */
export class EngineLink {
  private readonly worker = new EngineWorker();
  private readonly remote: RemoteCalls;
  private lose: (reason: Error) => void = () => {};
  /** Rejects once the worker is gone; never resolves. */
  private readonly lost = new Promise<never>((_, reject) => (this.lose = reject));

  /** `onMessage` hears what the worker tells, in order; `onLost`, once, why it is gone: then it is told nothing more. */
  constructor(
    onMessage: (message: EngineMessage) => void,
    private readonly onLost: (why: string) => void,
  ) {
    const { port1, port2 } = new MessageChannel();
    port1.addEventListener('message', ({ data }: MessageEvent<{ message?: EngineMessage }>) => {
      if (data.message) onMessage(data.message);
    });
    this.remote = wrap(port1) as unknown as RemoteCalls;
    // What a worker is sent before it listens is lost; what is sent to a port waits there.
    this.worker.addEventListener('message', () => this.worker.postMessage(port2, [port2]), { once: true });
    this.worker.addEventListener('error', (event) => this.end(event.message));
    this.lost.catch(() => {});
  }

  /** Calls the worker. Rejects when the worker is gone before it has answered. */
  call<T>(work: (calls: RemoteCalls) => Promise<T>): Promise<T> {
    return Promise.race([work(this.remote), this.lost]);
  }

  /** Calls it without an answer. */
  send(work: (calls: RemoteCalls) => Promise<void>): void {
    // A worker that is gone has told so by itself.
    void this.call(work).catch(() => {});
  }

  private end(why: string): void {
    this.dispose();
    this.lose(new Error(why));
    this.onLost(why);
  }

  /** Ends the worker. What it was to answer stays open. */
  dispose(): void {
    this.worker.terminate();
  }
}
