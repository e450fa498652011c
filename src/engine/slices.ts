/** Longest time that work keeps the worker from its messages, ms. */
const SLICE_MS = 8;

/** Part of the Prioritized Task Scheduling API (W3C) that not every browser has. */
interface TaskScheduler {
  postTask(task: () => void, options: { readonly priority: 'background' }): Promise<void>;
}

const { scheduler } = globalThis as { readonly scheduler?: TaskScheduler };
const channel = new MessageChannel();
let waiting: (() => void)[] = [];
channel.port1.onmessage = () => {
  const all = waiting;
  waiting = [];
  for (const go of all) go();
};

/**
 * Lets waiting messages be handled; unlike a timer it does not wait. Where tasks have priorities it resolves after all messages:
 * in the same queue it would return so quickly that, on a busy machine, messages of other threads wait for seconds.
 */
export const turn = (): Promise<void> =>
  scheduler
    ? scheduler.postTask(() => {}, { priority: 'background' })
    : new Promise((resolve) => {
        waiting.push(resolve);
        channel.port2.postMessage(null);
      });

/** Lets messages be handled whenever a slice is over; to be called between steps of work. */
export const slicePace = (): (() => Promise<void>) => {
  let since = performance.now();
  return async () => {
    if (performance.now() - since < SLICE_MS) return;
    await turn();
    since = performance.now();
  };
};

/** Pause of background work for other work, ms. */
const PAUSE_MS = 40;

/** Pauses background work. */
export const pause = (): Promise<void> => new Promise((resolve) => setTimeout(resolve, PAUSE_MS));

/** Runs steps in slices, with messages handled in between. null: stopped because `isOver` returned true. */
export const inSlices = async <R>(steps: Generator<unknown, R>, isOver: () => boolean): Promise<R | null> => {
  for (let since = performance.now(); ;) {
    const next = steps.next();
    if (next.done) return next.value;
    if (performance.now() - since < SLICE_MS) continue;
    await turn();
    if (isOver()) return null;
    since = performance.now();
  }
};

/** The same steps; `onPart` is called with the part done, 0..1, whenever it has grown by 0.01. */
export function* reportingSteps<R>(steps: Generator<number, R>, onPart: (part: number) => void): Generator<number, R> {
  let told = 0;
  for (;;) {
    const next = steps.next();
    if (next.done) return next.value;
    if (next.value - told >= 0.01) onPart((told = next.value));
    yield next.value;
  }
}
