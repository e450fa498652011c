/** Least time between the beginnings of two writes, ms. */
const EACH_MS = 200;
/** Writes take no more than this part of the thread's time. */
const SHARE = 1 / 4;

/** Status of the newest state. */
export type Steadiness = 'kept' | 'writing' | 'refused';

/**
 * Writes states as they change, one write at a time, the newest only: a state waits for at most EACH_MS, or for the duration of a
 * write divided by its allowed part of the time.
 */
export class SteadyWriter<State> {
  #wanted: { readonly state: State } | null = null;
  #running: Promise<void> | null = null;
  #timer: ReturnType<typeof setTimeout> | undefined;
  #earliest = 0;
  #isStopped = false;

  constructor(
    private readonly write: (state: State) => Promise<void>,
    private readonly tell: (steadiness: Steadiness, error?: unknown) => void,
  ) {}

  /** A newer state: it replaces a waiting one. */
  keep(state: State): void {
    if (this.#isStopped) return;
    this.#wanted = { state };
    this.tell('writing');
    if (this.#timer === undefined && !this.#running)
      this.#timer = setTimeout(() => void this.flush(), Math.max(0, this.#earliest - performance.now()));
  }

  /** Writes a waiting state at once. Resolves when none waits any more, or it was refused. */
  async flush(): Promise<void> {
    clearTimeout(this.#timer);
    this.#timer = undefined;
    while (this.#running) await this.#running;
    if (!this.#wanted) return;
    this.#running = this.#next();
    await this.#running;
  }

  /** Ends all writing. */
  stop(): void {
    this.#isStopped = true;
    this.#wanted = null;
    clearTimeout(this.#timer);
  }

  async #next(): Promise<void> {
    const { state } = this.#wanted!;
    this.#wanted = null;
    const began = performance.now();
    let error: { readonly of: unknown } | null = null;
    try {
      await this.write(state);
    } catch (thrown) {
      error = { of: thrown };
    }
    this.#running = null;
    const took = performance.now() - began;
    this.#earliest = began + Math.max(EACH_MS, took / SHARE);
    if (this.#isStopped) return;
    if (error) this.tell('refused', error.of);
    if (this.#wanted) this.keep((this.#wanted as { readonly state: State }).state);
    else if (!error) this.tell('kept');
  }
}
