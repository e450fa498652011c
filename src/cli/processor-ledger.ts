import { fitted } from '../blend/ledger.ts';
import type { FrameRange } from '../blend/make-blend-query.ts';
import { changeOf, type FigureChange } from '../measure/change.ts';
import type { Figures } from '../measure/figures.ts';
import { measure } from '../measure/measure.ts';
import { gainsOf, sumPaths } from '../render/mix.ts';
import { chainOf, setProcessorOn } from '../session/chain-edits.ts';
import { allItems, isSplit } from '../session/chain-items.ts';
import type { Session } from '../session/schema.ts';
import type { SessionRenderer } from './render-session.ts';

/** What one processor of a chain does to the mix before the mix bus. */
export interface ProcessorRow {
  /** Id of the item in the chain, and what it is; "split" for a split as a whole. */
  readonly item: string;
  readonly processor: string;
  /** The mix with it less the mix without it, all else as it stands. */
  readonly change: FigureChange;
}

/**
 * The ledger within a chain: for each processor of `path` that is on, the mix is rendered without it (what depends on
 * it is, the rest is kept), summed and measured. `mix` are the figures of the whole over the same frames.
 */
export const processorsOf = async (
  renderer: SessionRenderer,
  session: Session,
  path: string,
  mix: Figures,
  frames: number,
  range: FrameRange | undefined,
): Promise<ProcessorRow[]> => {
  const items = allItems(chainOf(session, path).filter(({ on }) => on)).filter(({ on }) => on);
  const rows: ProcessorRow[] = [];
  for (const each of items) {
    const { plan, paths } = await renderer.changed(setProcessorOn(session, path, each.id, false));
    const sum = fitted(sumPaths(paths, gainsOf(plan)), frames);
    const channels = sum.channels.map((channel) =>
      range ? channel.subarray(range.fromFrame, range.toFrame) : channel,
    );
    const processor = isSplit(each) ? 'split' : each.processor;
    rows.push({ item: each.id, processor, change: changeOf(measure({ ...sum, channels }), mix) });
  }
  return rows;
};
