export type TextField = HTMLInputElement | HTMLTextAreaElement;

const TEXT_TYPES = new Set(['text', 'search', 'email', 'url', 'tel', 'password', 'number']);

/** Whether letters that are typed go into it. */
export const takesText = (target: EventTarget | null): target is TextField =>
  target instanceof HTMLTextAreaElement || (target instanceof HTMLInputElement && TEXT_TYPES.has(target.type));

/** A number is short and is read again as a whole: its field leaves more keys to the song than one for words. */
export const takesNumber = (field: TextField): boolean => field.inputMode === 'decimal';

/** What is being typed, and what stood there before: so that a field can be left with either. */
export class Typing {
  #field: TextField | null = null;
  #before = '';
  /** The field for a number that was left and keeps the focus. */
  #rested: TextField | null = null;

  readonly onbeforeinput = ({ target }: Event): void => {
    // What is typed takes the place of all that stood there.
    this.#rested?.select();
    this.#rested = null;
    if (!takesText(target) || target === this.#field) return;
    this.#field = target;
    this.#before = target.value;
  };

  readonly onfocusout = (): void => {
    this.#field = this.#rested = null;
  };

  /** True in a field for a number that was left and still has the focus: keys are the song's there. */
  hasLeft(field: TextField): boolean {
    return field === this.#rested;
  }

  /** Leaves a field. Who came by keyboard keeps the place. */
  #leave(field: TextField, keeps: boolean): void {
    field.blur();
    if (!keeps || !field.isConnected) return;
    field.focus();
    if (takesNumber(field)) this.#rested = field;
  }

  /** True when something was typed into the field that is not committed yet. */
  isIn(field: TextField): boolean {
    return field === this.#field;
  }

  /** Puts back what stood in the field before. */
  restore(field: TextField): void {
    if (!this.isIn(field)) return;
    this.#field = null;
    field.value = this.#before;
    field.dispatchEvent(new Event('input', { bubbles: true }));
  }

  /**
   * Leaves the field, which commits what stands in it; true when it did. A form and a search have an Enter of their own. In a field
   * that was left already, Enter begins anew. `keeps`: the focus stays on it.
   */
  commit(field: TextField, keeps: boolean): boolean {
    if (!(field instanceof HTMLInputElement) || field.form || field.type === 'search') return false;
    // What is wrong stays, with the word of what is right.
    if (field.getAttribute('aria-invalid') === 'true') return true;
    if (!this.hasLeft(field)) this.#leave(field, keeps);
    else {
      this.#rested = null;
      field.select();
    }
    return true;
  }

  /** Leaves the field as it was before; false in an untouched one that keeps the focus or is in something that Escape closes. */
  drop(field: TextField, keeps: boolean): boolean {
    if (!this.isIn(field) && (keeps || field.closest('dialog, [popover]'))) return false;
    this.restore(field);
    this.#leave(field, keeps);
    return true;
  }
}
