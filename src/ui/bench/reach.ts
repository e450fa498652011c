/** Keys that carry the focus from one control to another. */
const CARRIES = /^(Tab|Home|End|F6|Page(Up|Down)|Arrow(Up|Down|Left|Right))$/;

/**
 * How the focus came to where it is. A control that was reached by keyboard owns the keys that work it; one that was
 * clicked does not. `:focus-visible` does not tell: any key that is pressed after a click makes it true.
 */
export class Reach {
  #byKeyboard = true;
  #reached: EventTarget | null = null;

  readonly onpointerdown = (): void => {
    this.#byKeyboard = false;
    this.#reached = null;
  };

  readonly onkeydown = ({ key }: KeyboardEvent): void => {
    if (CARRIES.test(key)) this.#byKeyboard = true;
  };

  readonly onfocusin = ({ target }: FocusEvent): void => {
    this.#reached = this.#byKeyboard ? target : null;
  };

  /** True for the control that has the focus, when the keyboard brought it there. */
  has(target: EventTarget | null): boolean {
    return target !== null && target === this.#reached;
  }
}
