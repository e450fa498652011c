import type { Audio } from '../audio/audio.ts';
import { pathsInMemory, type RenderOptions } from './executor.ts';
import type { Plan } from './plan/plan.ts';
import { LocalStripPort } from './pool/strip-port.ts';
import { StripPool } from './pool/strip-pool.ts';
import type { Sources } from './plan/sources.ts';

/**
 * Renders all paths with no Web Audio, in this thread, through the same kernels as the browser's graph; they are kept in memory. For tests,
 * and where there are no other threads.
 */
export const renderDirect = async (
  plan: Plan,
  sources: Sources,
  options?: RenderOptions,
): Promise<ReadonlyMap<string, Audio>> =>
  pathsInMemory(await new StripPool([new LocalStripPort()]).render(plan, sources, options));
