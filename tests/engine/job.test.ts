import { expect, test } from 'vitest';
import {
  answerOf,
  partOfJob,
  stepped,
  steppedRows,
  callbackJob,
  type Job,
  type JobReport,
} from '../../src/engine/job.ts';

function* quarters(): Generator<number, string> {
  for (const part of [0.25, 0.5, 0.75]) yield part;
  return 'done';
}

/** Tells a row and a part, until it is ended, and then that. */
async function* counting(upTo: number, onEnd: () => void = () => {}): Job<number, string> {
  try {
    for (let n = 1; n <= upTo; n++) {
      yield { row: `row ${n}` };
      yield { part: n / upTo };
      await Promise.resolve();
    }
    return upTo;
  } finally {
    onEnd();
  }
}

const collect = async <Answer, Row>(job: Job<Answer, Row>) => {
  const told: JobReport<Row>[] = [];
  for (;;) {
    const next = await job.next();
    if (next.done) return { told, answer: next.value };
    told.push(next.value);
  }
};

const gone = (): DOMException => new DOMException('gone', 'AbortError');

test('answers with what the job returns; parts and rows are told in order', async () => {
  const parts: number[] = [];
  const rows: string[] = [];
  const answer = await answerOf(counting(3), {
    onProgress: (part) => parts.push(part),
    onRow: (row) => rows.push(row),
  });
  expect(answer).toBe(3);
  expect(rows).toEqual(['row 1', 'row 2', 'row 3']);
  expect(parts).toEqual([1 / 3, 2 / 3, 1]);
});

test('a part that is no further than the one before is not told', async () => {
  async function* back(): Job<null> {
    for (const part of [0.5, 0.5, 0.2, 0.7]) yield { part };
    return Promise.resolve(null);
  }
  const parts: number[] = [];
  await answerOf(back(), { onProgress: (part) => parts.push(part) });
  expect(parts).toEqual([0.5, 0.7]);
});

test('steps and jobs are parts of longer ones', async () => {
  async function* whole(): Job<string, string> {
    const first = yield* stepped(quarters(), 0, 0.5);
    const second = yield* partOfJob(counting(2), 0.5, 1);
    return `${first} ${second}`;
  }
  const { told, answer } = await collect(whole());
  expect(answer).toBe('done 2');
  expect(told).toEqual([
    ...[0.125, 0.25, 0.375].map((part) => ({ part })),
    ...[{ row: 'row 1' }, { part: 0.75 }, { row: 'row 2' }, { part: 1 }],
  ]);
});

test('rows that steps tell come before the part they belong to, and none is lost at the end', () => {
  function* steps(onRow: (row: number) => void): Generator<number, string> {
    onRow(1);
    onRow(2);
    yield 0.5;
    onRow(3);
    return 'done';
  }
  expect([...steppedRows(steps, 0, 0.5)]).toEqual([{ row: 1 }, { row: 2 }, { part: 0.25 }, { row: 3 }]);
});

test('between steps the pace is waited for', async () => {
  const order: string[] = [];
  await answerOf(counting(1), {
    onRow: (row) => order.push(row),
    onProgress: () => order.push('part'),
    pace: async () => {
      await Promise.resolve();
      order.push('pace');
    },
  });
  expect(order).toEqual(['row 1', 'pace', 'part', 'pace']);
});

test('once it is aborted it rejects with the reason of the signal, and the job is ended where it stands', async () => {
  const work = new AbortController();
  const rows: string[] = [];
  let end = (): void => {};
  const ended = new Promise<void>((resolve) => (end = resolve));
  const answer = answerOf(
    counting(1000, () => end()),
    {
      onRow: (row) => {
        rows.push(row);
        if (row === 'row 3') work.abort(gone());
      },
      signal: work.signal,
    },
  );
  await expect(answer).rejects.toThrow('gone');
  await ended;
  expect(rows).toEqual(['row 1', 'row 2', 'row 3']);
});

test('an abort while the job is busy is heard at once, not at its next step', async () => {
  const work = new AbortController();
  async function* busy(): Job<null> {
    await new Promise(() => {});
    yield { part: 1 };
    return null;
  }
  const answer = answerOf(busy(), { signal: work.signal });
  work.abort(gone());
  await expect(answer).rejects.toThrow('gone');
});

test('a job is not begun for a signal that is aborted already', async () => {
  let begun = false;
  // eslint-disable-next-line require-yield
  async function* job(): Job<null> {
    begun = true;
    return Promise.resolve(null);
  }
  await expect(answerOf(job(), { signal: AbortSignal.abort(gone()) })).rejects.toThrow('gone');
  expect(begun).toBe(false);
});

test('what a job throws is thrown, and what follows it is told as well', async () => {
  // eslint-disable-next-line require-yield
  async function* failing(): Job<null> {
    await Promise.resolve();
    throw new RangeError('no such path');
  }
  await expect(answerOf(failing())).rejects.toThrow('no such path');
  const listening = answerOf(counting(1), {
    onRow: () => {
      throw new Error('deaf');
    },
  });
  await expect(listening).rejects.toThrow('deaf');
});

test('work that calls back is a job: what it tells is told, and it waits for its turn', async () => {
  const order: string[] = [];
  const job = callbackJob(async ({ tell, turn }) => {
    tell(0.2);
    await turn();
    order.push('went on');
    tell(0.6);
    await turn();
    return 'answer';
  });
  expect(await job.next()).toEqual({ done: false, value: { part: 0.2 } });
  await Promise.resolve();
  expect(order).toEqual([]);
  expect(await job.next()).toEqual({ done: false, value: { part: 0.6 } });
  expect(order).toEqual(['went on']);
  expect(await job.next()).toEqual({ done: true, value: 'answer' });
});

test('work that calls back hears that its job was ended, in its signal and where it waits', async () => {
  const heard: string[] = [];
  const job = callbackJob(async ({ turn, signal }) => {
    signal.addEventListener('abort', () => heard.push('signal'));
    try {
      await turn();
    } catch (error) {
      heard.push((error as Error).message);
      throw error;
    }
  });
  await job.next();
  await job.return(undefined);
  await Promise.resolve();
  expect(heard).toEqual(['signal', 'not wanted any more']);
});

test('work that fails fails its job; what was told before is not lost', async () => {
  const job = callbackJob(async ({ turn }) => {
    await turn();
    throw new Error('no room');
  });
  expect(await job.next()).toEqual({ done: false, value: { part: 0 } });
  await expect(job.next()).rejects.toThrow('no room');
});

test('a job within a job is ended with it', async () => {
  const ended: string[] = [];
  async function* outer(): Job<number, string> {
    return yield* partOfJob(
      counting(10, () => ended.push('inner')),
      0,
      1,
    );
  }
  const job = outer();
  await job.next();
  await job.return(undefined as never);
  expect(ended).toEqual(['inner']);
});

test('work that calls back tells its rows in their order, the last of them before its answer', async () => {
  const rows: string[] = [];
  const job = callbackJob<number, string>(async ({ tellRow, turn }) => {
    tellRow('first');
    await turn();
    tellRow('second');
    tellRow('third');
    return 7;
  });
  expect(await answerOf(job, { onRow: (row) => rows.push(row) })).toBe(7);
  expect(rows).toEqual(['first', 'second', 'third']);
});
