/** Where on a row something would be put: on it, or before or after it. */
export type DropSide = 'on' | 'before' | 'behind';

/** What a drag would do if it were let go now: the row, where on it, and in words. */
export interface DropMark {
  readonly path: string;
  readonly side: DropSide;
  readonly words: string;
  /** Where the pointer is on the screen, px. */
  readonly at: readonly [x: number, y: number];
}

/** Shown by the rows of the table while something is dragged over them. */
export class Drops {
  #mark = $state.raw<DropMark | null>(null);

  get mark(): DropMark | null {
    return this.#mark;
  }
  set mark(mark: DropMark | null) {
    this.#mark = mark;
  }

  /** How a row shows it; '' where it is not that one. */
  sideOn(path: string): DropSide | '' {
    return this.#mark?.path === path ? this.#mark.side : '';
  }
}
