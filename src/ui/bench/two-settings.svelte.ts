import type { Settings } from '../../dsp/core/parameter.ts';
import type { ProcessorItem } from '../../session/schema.ts';

export type Letter = 'A' | 'B';

/** Two settings of one processor. */
interface Two {
  /** Which of them it has. */
  readonly now: Letter;
  /** As it was when it was last left, or begun. */
  readonly kept: Readonly<Record<Letter, Settings>>;
}

export const otherOf = (letter: Letter): Letter => (letter === 'A' ? 'B' : 'A');

/** Undo and redo may have gone to the other one. */
const standing = ({ now, kept }: Two, settings: Settings): Letter =>
  settings !== kept[now] && settings === kept[otherOf(now)] ? otherOf(now) : now;

/** Two settings of each processor that was asked to have them; they last until another session is opened, or the page is left. */
export class TwoSettings {
  #all = $state.raw<Readonly<Record<string, Two>>>({});

  /** Which of its two settings a processor has; null: it has only one. */
  letterOf(path: string, { id, settings }: ProcessorItem): Letter | null {
    const two = this.#all[`${path} ${id}`];
    return two ? standing(two, settings) : null;
  }

  /** The setting that it has not; null: it has only one. */
  otherOf(path: string, item: ProcessorItem): Settings | null {
    const letter = this.letterOf(path, item);
    return letter && this.#all[`${path} ${item.id}`]!.kept[otherOf(letter)];
  }

  /** Begins B as the same as A. */
  begin(path: string, { id, settings }: ProcessorItem): void {
    this.#set(path, id, { now: 'B', kept: { A: settings, B: settings } });
  }

  /** It has gone to the other one; `left` is as it was before. */
  went(path: string, left: ProcessorItem, to: Letter): void {
    const { kept } = this.#all[`${path} ${left.id}`]!;
    this.#set(path, left.id, { now: to, kept: { ...kept, [otherOf(to)]: left.settings } });
  }

  clear(): void {
    this.#all = {};
  }

  #set(path: string, id: string, two: Two): void {
    this.#all = { ...this.#all, [`${path} ${id}`]: two };
  }
}
