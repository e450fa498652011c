import type { ChainItems } from '../../session/schema.ts';

/** Processors that were copied, as they were then. They stay when another session is opened. */
export interface Copied {
  readonly items: ChainItems;
  /** "Compressor", or "chain of Drum squeeze". */
  readonly name: string;
}

export class Clipboard {
  #copied = $state.raw<Copied | null>(null);

  get copied(): Copied | null {
    return this.#copied;
  }
  set copied(copied: Copied | null) {
    this.#copied = copied;
  }
}
