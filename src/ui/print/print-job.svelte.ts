import type { Bench } from '../bench/bench.svelte.ts';
import type { PrintedFile, PrintOptions } from '../engine/engine.ts';
import { messageOf } from '../shared/message.ts';

/** One print: what is asked for, how far it is, and what came out. */
export class PrintJob {
  readonly #bench: Bench;
  bits = $state<PrintOptions['bits']>('24');
  main = $state(true);
  stems = $state(false);
  #progress = $state.raw<number | null>(null);
  #files = $state.raw<readonly PrintedFile[]>([]);
  #fault = $state.raw<string | null>(null);
  #cancel: AbortController | null = null;

  constructor(bench: Bench) {
    this.#bench = bench;
  }

  /** 0..1 while it prints; null when it does not. */
  get progress(): number | null {
    return this.#progress;
  }
  get files(): readonly PrintedFile[] {
    return this.#files;
  }
  get fault(): string | null {
    return this.#fault;
  }
  get canStart(): boolean {
    return this.#progress === null && (this.main || this.stems);
  }

  async start(): Promise<void> {
    this.#cancel = new AbortController();
    this.#progress = 0;
    this.#files = [];
    this.#fault = null;
    try {
      this.#files = await this.#bench.engine.print({
        bits: this.bits,
        kinds: [...(this.main ? (['main'] as const) : []), ...(this.stems ? (['stems'] as const) : [])],
        onProgress: (progress) => (this.#progress = progress),
        signal: this.#cancel.signal,
      });
    } catch (error) {
      if (!this.#cancel.signal.aborted) this.#fault = messageOf(error);
    } finally {
      this.#progress = null;
    }
  }

  cancel(): void {
    this.#cancel?.abort();
  }
}
