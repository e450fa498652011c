import { existsSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { fileURLToPath } from 'node:url';
import { Worker } from 'node:worker_threads';
import nodeEndpoint from 'comlink/dist/esm/node-adapter.mjs';
import { divide, runFrames, type Executor } from '../render/executor.ts';
import { LocalStripPort, RemoteStripPort } from '../render/pool/strip-port.ts';
import { StripPool } from '../render/pool/strip-pool.ts';

/** The built thread beside the built command line. From the sources, as tests run, there is none, nor other threads. */
const THREAD = fileURLToPath(new URL('render-thread.js', import.meta.url));

/** Threads start in the time in which one chain renders some such length, seconds. */
const WORTH_THREADS = 30;

interface Threads {
  readonly pool: StripPool;
  /** While nothing is rendered they do not keep the process alive. */
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

/** Renders on all cores, where that is worth it: what little there is to do is sooner done in this thread. */
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
