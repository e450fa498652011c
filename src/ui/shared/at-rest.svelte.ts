/** A value counts as at rest when it has been the same so long, ms. */
const REST_MS = 400;

/** A value as it was when it was last at rest: slow work need not follow every move. */
export class AtRest<T> {
  #value = $state.raw<T>() as T;

  /** `read` is followed from within a component. */
  constructor(read: () => T) {
    this.#value = read();
    $effect(() => {
      const next = read();
      const rest = setTimeout(() => (this.#value = next), REST_MS);
      return () => clearTimeout(rest);
    });
  }

  get value(): T {
    return this.#value;
  }
}
