/** What a job tells on its way: how much of it is done, 0..1, or a row of its answer. */
export type Told<Row = never> = { readonly part: number } | { readonly row: Row };

/**
 * Work that takes time, as a generator: it goes on only when it is asked to, so whoever drives it may let other work in between,
 * or end it. Its answer is what it returns.
 */
export type Job<Answer, Row = never> = AsyncGenerator<Told<Row>, Answer, void>;

/** How a job is followed. */
export interface Following<Row = never> {
  /** Part done, 0..1, never less than before. */
  readonly onProgress?: ((part: number) => void) | undefined;
  /** Each row once, as soon as it is there. */
  readonly onRow?: ((row: Row) => void) | undefined;
  readonly signal?: AbortSignal | undefined;
  /** Called between steps: where others need a turn of the thread, it resolves after that. */
  readonly pace?: (() => Promise<void>) | undefined;
}

/** Work that is done step by step, each of which yields the part done, as the part from `from` to `to` of a job. */
export function* stepped<R>(steps: Generator<number, R>, from = 0, to = 1): Generator<{ readonly part: number }, R> {
  for (;;) {
    const next = steps.next();
    if (next.done) return next.value;
    yield { part: from + next.value * (to - from) };
  }
}

/** Steps as a job of their own. */
// oxlint-disable-next-line typescript/require-await -- steps wait for nothing
export async function* jobOf<R>(steps: Generator<number, R>): Job<R> {
  return yield* stepped(steps);
}

/** Steps that tell rows on the way: `begin` is given the listener that hears of them. */
export function* steppedRows<R, Row>(
  begin: (onRow: (row: Row) => void) => Generator<number, R>,
  from = 0,
  to = 1,
): Generator<Told<Row>, R> {
  const rows: Row[] = [];
  const steps = begin((row) => rows.push(row));
  for (;;) {
    const next = steps.next();
    for (const row of rows.splice(0)) yield { row };
    if (next.done) return next.value;
    yield { part: from + next.value * (to - from) };
  }
}

/** A job as the part from `from` to `to` of a longer one; its rows are rows of that. */
export async function* partOfJob<Answer, Row>(job: Job<Answer, Row>, from: number, to: number): Job<Answer, Row> {
  try {
    for (;;) {
      const next = await job.next();
      if (next.done) return next.value;
      yield 'row' in next.value ? next.value : { part: from + next.value.part * (to - from) };
    }
  } finally {
    // Where this one is ended between steps, so is the other; one that is over already does not mind.
    await job.return(undefined as never);
  }
}

/** What work that is not a generator is given, so that it can be a job. */
export interface Teller<Row = never> {
  /** Tells the part done, 0..1. Of what is told before the job is asked to go on, only the last counts. */
  readonly tell: (part: number) => void;
  /** Tells a row of the answer. */
  readonly tellRow: (row: Row) => void;
  /** Resolves once the job is asked to go on; rejects when it is ended instead. */
  readonly turn: () => Promise<void>;
  /** Aborts where the job is ended before it is done. */
  readonly signal: AbortSignal;
}

/** What passes between work that calls back and the job that it is. */
class Exchange<Row> implements Teller<Row> {
  private readonly stop = new AbortController();
  private last = 0;
  private told: number | null = null;
  private readonly rows: Row[] = [];
  private waiting: { readonly resolve: () => void; readonly reject: (reason: Error) => void }[] = [];
  private wake = (): void => {};

  get signal(): AbortSignal {
    return this.stop.signal;
  }

  readonly tell = (part: number): void => {
    this.last = part;
    this.told = part;
    this.wake();
  };

  readonly tellRow = (row: Row): void => {
    this.rows.push(row);
    this.wake();
  };

  readonly turn = (): Promise<void> =>
    new Promise((resolve, reject) => {
      if (this.signal.aborted) return reject(this.signal.reason as Error);
      this.waiting.push({ resolve, reject });
      this.tell(this.last);
    });

  /** What has been told since this was last called: rows, and the last part. */
  take(): readonly Told<Row>[] {
    const { told } = this;
    this.told = null;
    return [...this.rows.splice(0).map((row) => ({ row })), ...(told === null ? [] : [{ part: told }])];
  }

  /** Resolves when something is told that was not taken. */
  news(): Promise<void> {
    return this.told === null && this.rows.length === 0
      ? new Promise((resolve) => (this.wake = resolve))
      : Promise.resolve();
  }

  goOn(): void {
    const { waiting } = this;
    this.waiting = [];
    for (const { resolve } of waiting) resolve();
  }

  end(): void {
    this.stop.abort(new DOMException('not wanted any more', 'AbortError'));
    for (const { reject } of this.waiting) reject(this.signal.reason as Error);
    this.waiting = [];
  }
}

/** Work that calls back, as a job. */
export async function* tellingJob<Answer, Row = never>(
  work: (teller: Teller<Row>) => Promise<Answer>,
): Job<Answer, Row> {
  const exchange = new Exchange<Row>();
  let isOver = false;
  const working = work(exchange).finally(() => (isOver = true));
  // Whoever awaits it below hears of its failure; one that is ended before has nobody to tell.
  working.catch(() => {});
  try {
    while (!isOver) {
      await Promise.race([working, exchange.news()]);
      for (const told of exchange.take()) yield told;
      exchange.goOn();
    }
    for (const told of exchange.take()) yield told;
    return await working;
  } finally {
    if (!isOver) exchange.end();
  }
}

/**
 * Drives a job to its end.
 * @returns its answer
 * @throws what the job throws; the signal's reason as soon as it aborts: the job is ended at its next step then
 */
export const answerOf = async <Answer, Row>(
  job: Job<Answer, Row>,
  { onProgress, onRow, signal, pace }: Following<Row> = {},
): Promise<Answer> => {
  let done = 0;
  const drive = async (): Promise<Answer> => {
    for (;;) {
      const next = await job.next();
      signal?.throwIfAborted();
      if (next.done) return next.value;
      if ('row' in next.value) onRow?.(next.value.row);
      else if (next.value.part > done) onProgress?.((done = next.value.part));
      await pace?.();
      signal?.throwIfAborted();
    }
  };
  let stop = (): void => {};
  const aborted = new Promise<never>((_, reject) => {
    stop = () => reject(signal!.reason as Error);
    signal?.addEventListener('abort', stop, { once: true });
  });
  try {
    signal?.throwIfAborted();
    return await Promise.race([drive(), aborted]);
  } finally {
    signal?.removeEventListener('abort', stop);
    // Not awaited: a job that is busy ends at its next step, and nobody waits for that. One that is done stays so.
    job.return(undefined as never).catch(() => {});
  }
};
