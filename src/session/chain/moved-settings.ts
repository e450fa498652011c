import type { PreparedLine } from '../../dsp/core/line.ts';

/** A setting that a line stands in for. */
export interface MovedSetting {
  /** As it is at first: the number that strips reckon with. */
  readonly first: number;
  /** null: it stays there. */
  readonly line: PreparedLine | null;
}

/** Lines of one item of a chain. */
export interface ItemLines {
  /** By the parameters' ids. */
  readonly parameters: ReadonlyMap<string, MovedSetting>;
  /** Share of the processed sound, 0..1. */
  readonly mix?: MovedSetting;
  /** 1: bypassed. */
  readonly bypass?: MovedSetting;
}

/** Lines of a chain, by the ids of its items. */
export type ChainLines = ReadonlyMap<string, ItemLines>;
