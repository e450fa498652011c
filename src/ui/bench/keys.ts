import { MIX } from '../../session/chain-edits.ts';
import { dragRange } from '../song-strip/strip-geometry.ts';
import type { Bench } from './bench.svelte.ts';
import type { Listening, Slot } from './listening.svelte.ts';
import { sidesOf } from './sides.ts';

/** What the keys can ask of the whole screen beside the bench. */
export interface ScreenActions {
  readonly open: () => void;
  readonly save: () => void;
}

const writes = (target: EventTarget | null): boolean =>
  target instanceof HTMLTextAreaElement || (target instanceof HTMLInputElement && target.type === 'text');

const isBusy = (): boolean => document.querySelector('dialog[open], [popover]:popover-open') !== null;

// A button that is chosen already has nothing to do with the space bar.
const WORKED_BY_SPACE = 'button, summary, select, [type="checkbox"], [type="radio"]:not(:checked)';

/** The keys that hold everywhere. Whoever types a word or has a dialogue open keeps the keys; a control, its space bar. */
export class Keys {
  constructor(
    private readonly bench: Bench,
    private readonly actions: ScreenActions,
  ) {}

  readonly onkeydown = (event: KeyboardEvent): void => {
    if (isBusy()) return;
    const done = event.ctrlKey || event.metaKey ? this.#withControl(event) : this.#plain(event);
    if (done) event.preventDefault();
  };

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
      if (event.target instanceof Element && event.target.matches(WORKED_BY_SPACE)) return false;
      if (!event.repeat && bench.view.audible.length > 0) void bench.attempt('sound', () => bench.listening.toggle());
      return true;
    }
    if (event.key === 'Escape') {
      if (bench.selection.isLedger) bench.selection.showLedger(false);
      else bench.selection.clear();
      return true;
    }
    return listen(bench, bench.listening, event.key.toLowerCase(), event.shiftKey);
  }
}

const listen = (bench: Bench, listening: Listening, key: string, shift: boolean): boolean => {
  const side = sidesOf(bench.session!).find((candidate) => candidate.key === key);
  if (side) listening.hear(side.heard);
  else if (key === 'a' || key === 'b') hearSlot(listening, key, shift);
  else if (key === 'f') listening.flip();
  else if (key === 'w') return toggleSelected(bench, listening);
  else if (key === 'm') listening.foldToMono(!listening.mono);
  else if (key === 'l') listening.loop(null);
  else if (key === '[' || key === ']') setEdge(bench, listening, key);
  else return false;
  return true;
};

/** Hears what is in a slot; with shift, puts what is heard into it. */
const hearSlot = (listening: Listening, slot: Slot, puts: boolean): void => {
  if (puts) listening.put(slot, listening.heard);
  else listening.hear(listening.slots[slot]);
};

/** The mix without the path that is selected, and with it again. */
const toggleSelected = (bench: Bench, listening: Listening): boolean => {
  const { path } = bench.selection;
  if (path === null || path === MIX) {
    bench.tell('Select a path first: W takes it out of the mix, and puts it back.', 'sound');
    return true;
  }
  listening.toggleWithout(path);
  return true;
};

const setEdge = ({ session, view }: Bench, listening: Listening, key: '[' | ']'): void => {
  listening.look();
  const { startSeconds = 0, endSeconds = view.seconds } = listening.loopRange ?? {};
  const [from, to] = key === '[' ? [listening.seconds, endSeconds] : [startSeconds, listening.seconds];
  if (to > from) listening.loop(dragRange(from, to, session!, view.seconds));
};
