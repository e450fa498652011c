/** A report of a running job: the part done, 0..1, or a row of its answer. */
export type JobReport<Row = never> = { readonly part: number } | { readonly row: Row };

/**
 * Long work as a generator: it advances only when asked to, so its caller may let other work run in between,
 * or end it. Its return value is the answer.
 */
export type Job<Answer, Row = never> = AsyncGenerator<JobReport<Row>, Answer, void>;

/** Callbacks of the caller of a job. */
export interface Following<Row = never> {
  /** Part done, 0..1, never less than before. */
  readonly onProgress?: ((part: number) => void) | undefined;
  /** Each row once, as soon as it is there. */
  readonly onRow?: ((row: Row) => void) | undefined;
  readonly signal?: AbortSignal | undefined;
  /** Called between steps; resolves once other work of the thread has had its turn. */
  readonly pace?: (() => Promise<void>) | undefined;
}

/** Steps that yield their part done, as the part from `from` to `to` of a job. */
export function* stepped<R>(steps: Generator<number, R>, from = 0, to = 1): Generator<{ readonly part: number }, R> {
  for (;;) {
    const next = steps.next();
    if (next.done) return next.value;
    yield { part: from + next.value * (to - from) };
  }
}

/** Steps as a whole job. */
// oxlint-disable-next-line typescript/require-await -- steps wait for nothing
export async function* jobOf<R>(steps: Generator<number, R>): Job<R> {
  return yield* stepped(steps);
}

/** Steps that also produce rows: `begin` is given the function to call with each row. */
export function* steppedRows<R, Row>(
  begin: (onRow: (row: Row) => void) => Generator<number, R>,
  from = 0,
  to = 1,
): Generator<JobReport<Row>, R> {
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
    // Where this job is ended between steps, so is the inner one; that has no effect if it is over.
    await job.return(undefined as never);
  }
}

/** Functions for callback-based work that runs as a job. */
interface JobReporter<Row = never> {
  /** Reports the part done, 0..1. Of several reports before the job is asked to go on, only the last is delivered. */
  readonly tell: (part: number) => void;
  /** Reports a row of the answer. */
  readonly tellRow: (row: Row) => void;
  /** Resolves once the job is asked to go on; rejects when it is ended instead. */
  readonly turn: () => Promise<void>;
  /** Aborts where the job is ended before it is done. */
  readonly signal: AbortSignal;
}

/** Buffer between callback-based work and the job's generator. */
class Exchange<Row> implements JobReporter<Row> {
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

  /** The reports since the last call: rows, and the last part. */
  take(): readonly JobReport<Row>[] {
    const { told } = this;
    this.told = null;
    return [...this.rows.splice(0).map((row) => ({ row })), ...(told === null ? [] : [{ part: told }])];
  }

  /** Resolves when there is a report that was not taken. */
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

/** Callback-based work as a job. */
export async function* callbackJob<Answer, Row = never>(
  work: (teller: JobReporter<Row>) => Promise<Answer>,
): Job<Answer, Row> {
  const exchange = new Exchange<Row>();
  let isOver = false;
  const working = work(exchange).finally(() => (isOver = true));
  // A failure is thrown to the awaiting code below; if the job was ended before, nobody awaits it.
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
 * Runs a job to its end.
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
    // Not awaited: a busy job ends at its next step; for a finished job this has no effect.
    job.return(undefined as never).catch(() => {});
  }
};
