/** Moves in a row, such as key presses, are one step of undo until there has been none for this long, ms. */
const PAUSE = 1000;

/** Calls `settle` once, when moves in a row have come to an end. */
export class SettleLater {
  readonly #settle: () => void;
  #timer: ReturnType<typeof setTimeout> | undefined;

  constructor(settle: () => void) {
    this.#settle = settle;
  }

  /** One more move: the end is put off. */
  readonly moved = (): void => {
    clearTimeout(this.#timer);
    this.#timer = setTimeout(this.now, PAUSE);
  };

  /** The moves are over, if there were any. */
  readonly now = (): void => {
    if (this.#timer === undefined) return;
    clearTimeout(this.#timer);
    this.#timer = undefined;
    this.#settle();
  };
}
