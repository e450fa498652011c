import type { Answers } from '../../engine/questions.ts';
import type { Bench } from '../bench/bench.svelte.ts';
import type { Range } from '../../engine/engine.ts';

/** Settings are taken as at rest after this, ms. */
const REST_MS = 300;

/** What can be drawn of a processor at work. */
type Kind = 'reduction' | 'stage spectrum';

/** What is drawn, and the stretch that it is of. */
export interface Drawn<K extends Kind> {
  readonly range: Range;
  readonly answer: NonNullable<Answers[K]>;
}

/** Asks again whenever the control has been at rest; the last answer stays drawn until the next one comes. */
export class StageWatch<K extends Kind> {
  #drawn = $state.raw<Drawn<K> | null>(null);
  /** The question that waits for its answer. */
  #work: AbortController | null = null;
  #rest: ReturnType<typeof setTimeout> | undefined;

  constructor(
    private readonly bench: Bench,
    private readonly kind: K,
    private readonly path: string,
    private readonly item: string,
  ) {}

  get drawn(): Drawn<K> | null {
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
    const kind: Kind = this.kind;
    const question = { kind, path: this.path, item: this.item, range };
    try {
      const answer = (await this.bench.engine.ask(question, { signal: work.signal })) as Answers[K];
      this.#drawn = answer && { range, answer };
    } catch {
      // Withdrawn, or not rendered yet: it is asked again once it is.
    }
    if (this.#work === work) this.#work = null;
  }
}
