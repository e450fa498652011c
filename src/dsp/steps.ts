/** What work that is done step by step comes to when it is run to its end at once. */
export const finished = <R>(steps: Generator<unknown, R>): R => {
  for (;;) {
    const next = steps.next();
    if (next.done) return next.value;
  }
};
