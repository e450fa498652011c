/** Steps that yield the part done, 0..1, as the part from `from` to `to` of longer work. */
export function* partOf<R>(steps: Generator<number, R>, from: number, to: number): Generator<number, R> {
  for (;;) {
    const next = steps.next();
    if (next.done) return next.value;
    yield from + next.value * (to - from);
  }
}

/** What work that is done step by step comes to when it is run to its end at once; `onStep` is told what each yields. */
export const finished = <T, R>(steps: Generator<T, R>, onStep: (told: T) => void = () => {}): R => {
  for (;;) {
    const next = steps.next();
    if (next.done) return next.value;
    onStep(next.value);
  }
};
