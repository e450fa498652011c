import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import { SteadyWriter } from '../../src/engine/kept/steady-writer.ts';

beforeEach(() => void vi.useFakeTimers());
afterEach(() => void vi.useRealTimers());

/** A writer that takes `ms` for each state, and fails for those that begin with "bad". */
const writing = (ms: number) => {
  const written: (readonly [at: number, state: string])[] = [];
  const told: string[] = [];
  const start = performance.now();
  const writer = new SteadyWriter<string>(
    (state) =>
      new Promise((resolve, reject) => {
        setTimeout(() => {
          if (state.startsWith('bad')) return reject(new Error(state));
          written.push([performance.now() - start, state]);
          resolve();
        }, ms);
      }),
    (steadiness) => told.push(steadiness),
  );
  return { writer, written, told };
};

test('a hand that moves without rest has its newest state written five times a second, and its last in any case', async () => {
  const { writer, written, told } = writing(5);
  for (let n = 0; n < 100; n++) {
    writer.keep(`state ${n}`);
    await vi.advanceTimersByTimeAsync(10);
  }
  await vi.advanceTimersByTimeAsync(1000);
  expect(written.length).toBeGreaterThanOrEqual(5);
  expect(written.length).toBeLessThanOrEqual(7);
  expect(written.at(-1)![1]).toBe('state 99');
  expect(told.at(-1)).toBe('kept');
});

test('where writing is slow it takes a quarter of the time, one write at a time', async () => {
  const { writer, written } = writing(100);
  for (let n = 0; n < 200; n++) {
    writer.keep(`state ${n}`);
    await vi.advanceTimersByTimeAsync(10);
  }
  const gaps = written.slice(1).map(([at], n) => at - written[n]![0]);
  expect(Math.min(...gaps)).toBeGreaterThanOrEqual(400);
  expect(Math.max(...gaps)).toBeLessThan(450);
});

test('what is asked for at once is written at once; a refused state is told, and the next one tried', async () => {
  const { writer, written, told } = writing(5);
  writer.keep('bad');
  const flushed = writer.flush();
  await vi.advanceTimersByTimeAsync(5);
  await flushed;
  expect([written, told.at(-1)]).toEqual([[], 'refused']);
  writer.keep('good');
  void writer.flush();
  await vi.advanceTimersByTimeAsync(5);
  expect([written.map(([, state]) => state), told.at(-1)]).toEqual([['good'], 'kept']);
});

test('stopped, it writes nothing more', async () => {
  const { writer, written } = writing(5);
  writer.keep('one');
  writer.stop();
  writer.keep('two');
  await vi.advanceTimersByTimeAsync(1000);
  expect(written).toEqual([]);
});
