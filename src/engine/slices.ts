/** Longest time that work keeps the worker from its messages, ms. */
const SLICE_MS = 8;

/** Part of the Prioritized Task Scheduling API (W3C) that not every engine has. */
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
 * Lets the messages in that have come meanwhile; unlike a timer it does not wait. Where tasks have priorities it comes after all messages:
 * in a row with them it is so quick to come again that, on a busy machine, those of other threads wait for seconds.
 */
export const turn = (): Promise<void> =>
  scheduler
    ? scheduler.postTask(() => {}, { priority: 'background' })
    : new Promise((resolve) => {
        waiting.push(resolve);
        channel.port2.postMessage(null);
      });

/** Lets messages in whenever a slice is over; to be called between steps of work. */
export const slicePace = (): (() => Promise<void>) => {
  let since = performance.now();
  return async () => {
    if (performance.now() - since < SLICE_MS) return;
    await turn();
    since = performance.now();
  };
};

/** Time that work which nobody waits for leaves to other work, ms. */
const PAUSE_MS = 40;

/** Leaves the worker to what somebody waits for. */
export const pause = (): Promise<void> => new Promise((resolve) => setTimeout(resolve, PAUSE_MS));

/** Runs steps in slices, so that messages get in between. null: it was given up because `isOver` came true. */
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

/** The same steps; `onPart` is told of the part done, 0..1, whenever it has grown by a hundredth. */
export function* toldOf<R>(steps: Generator<number, R>, onPart: (part: number) => void): Generator<number, R> {
  let told = 0;
  for (;;) {
    const next = steps.next();
    if (next.done) return next.value;
    if (next.value - told >= 0.01) onPart((told = next.value));
    yield next.value;
  }
}
