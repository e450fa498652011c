import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import { RenderPace } from '../../src/engine/worker/render-pace.ts';

/** Renders that were begun: the edit that was newest then, how each ends, and whether it was stopped. */
interface Begun {
  readonly edit: number;
  readonly signal: AbortSignal;
  readonly part: (part: number) => void;
  readonly end: () => Promise<void>;
}

let begun: Begun[] = [];
let newest = 0;

const pace = new RenderPace((signal, part) => {
  let over = (): void => {};
  const rendering = new Promise<void>((resolve) => (over = resolve));
  const end = async (): Promise<void> => {
    over();
    await vi.advanceTimersByTimeAsync(0);
  };
  begun.push({ edit: newest, signal, part, end });
  return rendering;
});
const edit = (isHeard: boolean, isLive = false): void => {
  newest++;
  pace.edited(isHeard, isLive);
};
const edits = (): number[] => begun.map((each) => each.edit);
const isStopped = (): boolean[] => begun.map(({ signal }) => signal.aborted);
/** Moves the hand without a rest. */
const move = (times: number, isHeard: boolean, isLive = false): void => {
  for (let n = 0; n < times; n++) {
    edit(isHeard, isLive);
    vi.advanceTimersByTime(20);
  }
};
const rest = (): void => void vi.advanceTimersByTime(1000);

beforeEach(() => {
  vi.useFakeTimers();
  begun = [];
  newest = 0;
});
afterEach(() => {
  pace.stop();
  vi.useRealTimers();
});

test('where nothing is heard, any number of moves is one render, of the newest, once the hand rests', () => {
  move(200, false);
  expect(edits()).toEqual([]);
  rest();
  expect(edits()).toEqual([200]);
});

test('where nothing is heard, a move stops the render under way', () => {
  move(1, false);
  rest();
  move(1, false);
  expect(isStopped()).toEqual([true]);
  rest();
  expect(edits()).toEqual([1, 2]);
});

test('where something is heard, one render follows the other while the hand moves, each of what is newest then', async () => {
  move(100, true);
  expect(begun).toHaveLength(1);
  move(50, true);
  await begun[0]!.end();
  move(50, true);
  await begun[1]!.end();
  expect(edits()).toEqual([edits()[0], 150, 200]);
  expect(edits()[0]).toBeLessThan(100);
  expect(isStopped()).toEqual([false, false, false]);
  rest();
  await begun[2]!.end();
  rest();
  // What was rendered last is what stands: there is nothing left to do.
  expect(begun).toHaveLength(3);
});

test('when the hand rests, what is less than half done is stopped for the newest, but not twice in a row', async () => {
  move(100, true);
  begun[0]!.part(0.4);
  rest();
  expect(edits().at(-1)).toBe(100);
  expect(isStopped()).toEqual([true, false]);
  begun[1]!.part(0.1);
  move(1, true);
  rest();
  expect(isStopped()).toEqual([true, false]);
  await begun[1]!.end();
  expect(edits().at(-1)).toBe(101);
});

test('what is nearly done goes on to its end, then comes the newest', async () => {
  move(100, true);
  begun[0]!.part(0.9);
  rest();
  expect(begun).toHaveLength(1);
  await begun[0]!.end();
  expect(edits().at(-1)).toBe(100);
  expect(isStopped()).toEqual([false, false]);
});

test('once what is listened to of a render is heard, the rest of it gives way to what is newer', () => {
  move(1, true);
  rest();
  expect(edits()).toEqual([1]);
  begun[0]!.part(0.9);
  pace.heard();
  // Nothing is newer: it goes on to its end.
  expect(isStopped()).toEqual([false]);
  move(1, true);
  rest();
  expect(edits()).toEqual([1, 2]);
  expect(isStopped()).toEqual([true, false]);
  // What came while that was rendered follows as soon as it is heard.
  move(1, true);
  pace.heard();
  expect(edits()).toEqual([1, 2, 3]);
});

test('where what is moved runs live, nothing is begun until the hand rests, and then the newest is rendered', async () => {
  move(200, true, true);
  expect(edits()).toEqual([]);
  rest();
  expect(edits()).toEqual([200]);
  move(10, true, true);
  await begun[0]!.end();
  expect(edits()).toEqual([200]);
  move(10, true, true);
  rest();
  expect(edits()).toEqual([200, 220]);
  await begun[1]!.end();
  expect(edits()).toEqual([200, 220]);
});

test('a render that the live hand overtook and that ends after it has rested is followed by the newest', async () => {
  edit(true);
  rest();
  begun[0]!.part(0.9);
  move(5, true, true);
  rest();
  expect(edits()).toEqual([1]);
  await begun[0]!.end();
  expect(edits()).toEqual([1, 6]);
  expect(isStopped()).toEqual([false, false]);
});
