import { wrap } from 'comlink';
import EngineWorker from './worker/engine.worker.ts?worker';
import type { EngineMessage, RemoteCalls } from './worker/protocol.ts';

/** A worker that has not ended by itself after this time is ended, ms. */
const ENDING_MS = 1000;

/** One worker of the engine, until it ends. */
export class EngineLink {
  private readonly worker = new EngineWorker();
  private readonly remote: RemoteCalls;
  private lose: (reason: Error) => void = () => {};
  /** Rejects once the worker is gone; never resolves. */
  private readonly lost = new Promise<never>((_, reject) => (this.lose = reject));

  /** `onMessage` is called with the worker's messages, in order; `onLost` once, with the reason when the worker is gone. No messages follow. */
  constructor(
    onMessage: (message: EngineMessage) => void,
    private readonly onLost: (why: string) => void,
  ) {
    const { port1, port2 } = new MessageChannel();
    port1.addEventListener('message', ({ data }: MessageEvent<{ message?: EngineMessage }>) => {
      if (data.message) onMessage(data.message);
    });
    this.remote = wrap(port1) as unknown as RemoteCalls;
    // Messages sent to a worker before it listens are lost; messages sent to a port wait there.
    this.worker.addEventListener('message', () => this.worker.postMessage(port2, [port2]), { once: true });
    this.worker.addEventListener('error', (event) => this.end(event.message));
    this.lost.catch(() => {});
    addEventListener('pagehide', this.leave);
  }

  /** Calls the worker. Rejects when the worker is gone before it has answered. */
  call<T>(work: (calls: RemoteCalls) => Promise<T>): Promise<T> {
    return Promise.race([work(this.remote), this.lost]);
  }

  /** Calls it without an answer. */
  send(work: (calls: RemoteCalls) => Promise<void>): void {
    // The loss of a worker is reported by `onLost`.
    void this.call(work).catch(() => {});
  }

  /** The page is left, and may not be restored. */
  private readonly leave = ({ persisted }: PageTransitionEvent): void => {
    if (!persisted) this.worker.postMessage('end');
  };

  private end(why: string): void {
    this.dispose();
    this.lose(new Error(why));
    this.onLost(why);
  }

  /** Ends the worker, once it has freed its storage on disk. Open calls are never answered. */
  readonly dispose = (): void => {
    removeEventListener('pagehide', this.leave);
    this.worker.postMessage('end');
    setTimeout(() => this.worker.terminate(), ENDING_MS);
  };
}
