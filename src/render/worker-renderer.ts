import type { Executor } from './executor.ts';
import { RemoteStripPort } from './pool/strip-port.ts';
import { StripPool } from './pool/strip-pool.ts';
import RenderWorker from './render.worker.ts?worker';

/** More threads than this are no faster: strips wait for what feeds them. */
const MOST_THREADS = 8;

/** Renders in workers, one a core, which are started at the first render and stay. */
export class WorkerRenderer {
  private pool: StripPool | null = null;

  /** @param cores of the machine */
  constructor(private readonly cores: number) {}

  /** The executor that the app renders with. */
  readonly render: Executor = (plan, sources, options) => (this.pool ??= this.start()).render(plan, sources, options);

  dispose(): void {
    this.pool?.dispose();
    this.pool = null;
  }

  private start(): StripPool {
    return new StripPool(Array.from({ length: Math.min(MOST_THREADS, this.cores) }, () => this.startThread()));
  }

  /** A thread that fails ends what is being rendered; the next render starts all of them anew. */
  private startThread(): RemoteStripPort {
    const worker = new RenderWorker();
    const port = new RemoteStripPort(worker, () => worker.terminate());
    worker.onerror = ({ message }) => {
      port.fail(new Error(`the rendering worker stopped: ${message}`));
      this.dispose();
    };
    return port;
  }
}
