import type { Executor } from './executor.ts';
import { LocalStripPort } from './pool/strip-port.ts';
import { StripPool } from './pool/strip-pool.ts';

/**
 * Renders all paths with no Web Audio, in this thread, through the same kernels as the browser's graph. For tests, and where there
 * are no other threads.
 */
export const renderDirect: Executor = (plan, sources, options) =>
  new StripPool([new LocalStripPort()]).render(plan, sources, options);
