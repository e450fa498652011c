import type { Searchable } from '../shared/searched.ts';

/** Something that can be done by its name; `about`: what kind of thing it is, or what it does beyond its name. */
export interface Command extends Searchable {
  readonly id: string;
  /** Keys that do the same. */
  readonly keys?: string;
  readonly run: () => void;
}
