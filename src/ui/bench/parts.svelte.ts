/** One property of what is given in parts. */
class Part {
  value = $state.raw<unknown>();
}

/**
 * An object that is replaced as a whole, given in parts: who reads one property is told when this one becomes another, and of nothing
 * else. The cost of a change is thus that of what it changes, however much of the screen reads the rest.
 */
export class Parts<T extends object> {
  readonly #parts: Readonly<Record<PropertyKey, Part>>;
  /** The object as it was last taken; its properties are read only. */
  readonly whole: T;

  /** `keys`: all that it may have. */
  constructor(keys: readonly (keyof T)[]) {
    const parts: Record<PropertyKey, Part> = Object.fromEntries(keys.map((key) => [key, new Part()]));
    this.#parts = parts;
    this.whole = new Proxy({} as T, { get: (_, key) => parts[key]?.value });
  }

  take(next: T): void {
    for (const [key, part] of Object.entries(this.#parts)) part.value = Reflect.get(next, key);
  }
}
