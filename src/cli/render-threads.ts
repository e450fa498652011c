import { existsSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { fileURLToPath } from 'node:url';
import { Worker } from 'node:worker_threads';
import nodeEndpoint from 'comlink/dist/esm/node-adapter.mjs';
import { divide, runFrames, type Executor } from '../render/executor.ts';
import { LocalStripPort, RemoteStripPort } from '../render/pool/strip-port.ts';
import { StripPool } from '../render/pool/strip-pool.ts';

/** The built thread next to the built command line. Run from the sources (tests) there is none, and everything runs in one thread. */
const THREAD = fileURLToPath(new URL('render-thread.js', import.meta.url));

/** Starting threads takes as long as rendering about this much sound through one chain, seconds. */
const WORTH_THREADS = 30;

interface Threads {
  readonly pool: StripPool;
  /** Idle threads do not keep the process alive. */
  readonly keepAlive: (on: boolean) => void;
}

const startThreads = (count: number): Threads => {
  const workers = Array.from({ length: count }, () => new Worker(THREAD));
  const ports = workers.map((worker) => {
    const port = new RemoteStripPort(nodeEndpoint(worker), () => void worker.terminate());
    worker.on('error', ({ message }) => port.fail(new Error(`a rendering thread stopped: ${message}`)));
    return port;
  });
  const keepAlive = (on: boolean): void => workers.forEach((worker) => (on ? worker.ref() : worker.unref()));
  return { pool: new StripPool(ports), keepAlive };
};

let threads: Threads | null = null;
let rendering = 0;

/** Renders on all cores; short renders run in this thread, which takes less time. */
export const renderThreaded: Executor = async (plan, sources, options) => {
  const seconds = (divide(plan, options?.cache).run.length * runFrames(plan)) / plan.sampleRate;
  const cores = existsSync(THREAD) ? availableParallelism() : 1;
  if (cores < 2 || seconds < WORTH_THREADS) return new StripPool([new LocalStripPort()]).render(plan, sources, options);
  threads ??= startThreads(cores);
  rendering++;
  threads.keepAlive(true);
  try {
    return await threads.pool.render(plan, sources, options);
  } finally {
    rendering--;
    if (rendering === 0) threads.keepAlive(false);
  }
};
