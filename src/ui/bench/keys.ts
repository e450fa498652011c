import { dragRange } from '../song-strip/strip-geometry.ts';
import type { Bench } from './bench.svelte.ts';
import type { Listening } from './listening.svelte.ts';

/** What the keys can ask of the whole screen beside the bench. */
export interface ScreenActions {
  readonly open: () => void;
  readonly save: () => void;
}

const writes = (target: EventTarget | null): boolean =>
  target instanceof HTMLTextAreaElement || (target instanceof HTMLInputElement && target.type === 'text');

const isBusy = (): boolean => document.querySelector('dialog[open], [popover]:popover-open') !== null;

/**
 * The keys that hold everywhere. Whoever types a word or has a dialogue open keeps the keys; a button that was reached
 * by keyboard keeps its space bar, one that was only clicked does not.
 */
export class Keys {
  #byPointer = false;

  constructor(
    private readonly bench: Bench,
    private readonly actions: ScreenActions,
  ) {}

  readonly onpointerdown = (): void => {
    this.#byPointer = true;
  };

  readonly onkeydown = (event: KeyboardEvent): void => {
    if (event.key === 'Tab') this.#byPointer = false;
    if (isBusy()) return;
    const done = event.ctrlKey || event.metaKey ? this.#withControl(event) : this.#plain(event);
    if (done) event.preventDefault();
  };

  // The space bar presses a button when it comes up again: that too must not happen to a button that was only clicked.
  readonly onkeyup = (event: KeyboardEvent): void => {
    if (event.key === ' ' && !isBusy() && this.#spacePlays(event.target)) event.preventDefault();
  };

  #spacePlays(target: EventTarget | null): boolean {
    if (writes(target) || target instanceof HTMLSelectElement) return false;
    const presses = target instanceof HTMLElement && target.matches('button, [type="checkbox"], a[href]');
    return !presses || this.#byPointer;
  }

  #withControl({ key, shiftKey, target }: KeyboardEvent): boolean {
    const name = key.toLowerCase();
    if (name === 'o' || name === 's') {
      if (name === 'o') this.actions.open();
      else if (this.bench.session) this.actions.save();
      return true;
    }
    if (writes(target) || (name !== 'z' && name !== 'y')) return false;
    if (name === 'y' || shiftKey) this.bench.redo();
    else this.bench.undo();
    return true;
  }

  #plain(event: KeyboardEvent): boolean {
    const { bench } = this;
    if (event.altKey || !bench.session || writes(event.target) || event.target instanceof HTMLSelectElement)
      return false;
    if (event.key === ' ') {
      if (!this.#spacePlays(event.target)) return false;
      if (!event.repeat && bench.view.audible.length > 0) void bench.attempt(() => bench.listening.toggle());
      return true;
    }
    if (event.key === 'Escape') {
      bench.selection.clear();
      return true;
    }
    return listen(bench, bench.listening, event.key.toLowerCase());
  }
}

const HEARD = ['rough', 'received', 'mix'] as const;

const listen = (bench: Bench, listening: Listening, key: string): boolean => {
  const heard = HEARD[Number(key) - 1];
  if (heard) listening.hear(heard);
  else if (key === 'm') listening.foldToMono(!listening.mono);
  else if (key === 'l') listening.loop(null);
  else if (key === '[' || key === ']') setEdge(bench, listening, key);
  else return false;
  return true;
};

const setEdge = ({ session, view }: Bench, listening: Listening, key: '[' | ']'): void => {
  listening.look();
  const { startSeconds = 0, endSeconds = view.seconds } = listening.loopRange ?? {};
  const [from, to] = key === '[' ? [listening.seconds, endSeconds] : [startSeconds, listening.seconds];
  if (to > from) listening.loop(dragRange(from, to, session!, view.seconds));
};
