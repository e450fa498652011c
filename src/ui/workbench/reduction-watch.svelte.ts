import type { Reduction } from '../../render/reduction.ts';
import type { Bench } from '../bench/bench.svelte.ts';
import type { Range } from '../../engine/engine.ts';

/** Settings are taken as at rest after this, ms. */
const REST_MS = 300;

/** What is drawn of a processor's gain reduction, and the stretch that it is of. */
export interface Drawn {
  readonly range: Range;
  readonly reduction: Reduction;
}

/** Asks anew whenever the hand has rested; what was drawn stays until the answer is there. */
export class ReductionWatch {
  #drawn = $state.raw<Drawn | null>(null);
  /** The question that waits for its answer. */
  #work: AbortController | null = null;
  #rest: ReturnType<typeof setTimeout> | undefined;

  constructor(
    private readonly bench: Bench,
    private readonly path: string,
    private readonly item: string,
  ) {}

  get drawn(): Drawn | null {
    return this.#drawn;
  }

  look(range: Range): void {
    this.stop();
    this.#rest = setTimeout(() => void this.#ask(range), this.#drawn ? REST_MS : 0);
  }

  stop(): void {
    clearTimeout(this.#rest);
    this.#work?.abort(new DOMException('not wanted any more', 'AbortError'));
    this.#work = null;
  }

  async #ask(range: Range): Promise<void> {
    const work = new AbortController();
    this.#work = work;
    const question = { kind: 'reduction', path: this.path, item: this.item, range } as const;
    try {
      const reduction = await this.bench.engine.ask(question, { signal: work.signal });
      this.#drawn = reduction && { range, reduction };
    } catch {
      // Withdrawn, or not rendered yet: it is asked again once it is.
    }
    if (this.#work === work) this.#work = null;
  }
}
