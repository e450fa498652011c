import { fitted } from '../blend/ledger/ledger.ts';
import type { FrameRange } from '../blend/gram/make-blend-query.ts';
import { processorRows, type ProcessorRow } from '../blend/ledger/processor-rows.ts';
import type { Figures } from '../measure/figures.ts';
import { measure } from '../measure/measure.ts';
import { gainsOf, sumPaths } from '../render/mix.ts';
import type { Session } from '../session/schema.ts';
import type { SessionRenderer } from './render-session.ts';

/**
 * What each processor of `path` does to the mix: the mix is rendered without it (what depends on it is, the rest is kept),
 * summed and measured. `mix` are the figures of the whole over the same frames.
 */
export const processorsOf = (
  renderer: SessionRenderer,
  session: Session,
  path: string,
  mix: Figures,
  frames: number,
  range: FrameRange | undefined,
): Promise<ProcessorRow[]> =>
  processorRows(session, path, mix, async (without) => {
    const { plan, paths } = await renderer.changed(without);
    const sum = fitted(sumPaths(paths, gainsOf(plan)), frames);
    const channels = sum.channels.map((channel) =>
      range ? channel.subarray(range.fromFrame, range.toFrame) : channel,
    );
    return measure({ ...sum, channels });
  });
