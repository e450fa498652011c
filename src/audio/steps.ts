/** Runs steps that yield the part done, 0..1, as one part, from `from` to `to`, of longer work. */
export function* partOf<R>(steps: Generator<number, R>, from: number, to: number): Generator<number, R> {
  for (;;) {
    const next = steps.next();
    if (next.done) return next.value;
    yield from + next.value * (to - from);
  }
}

/** Runs work in steps to its end at once and returns its result; `onStep` gets what each step yields. */
export const finished = <T, R>(steps: Generator<T, R>, onStep: (yielded: T) => void = () => {}): R => {
  for (;;) {
    const next = steps.next();
    if (next.done) return next.value;
    onStep(next.value);
  }
};
