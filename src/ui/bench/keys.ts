import { tick } from 'svelte';
import { isSplit, itemOf } from '../../session/chain/chain-items.ts';
import { MIX } from '../../session/chain/chain-edits.ts';
import { addMarker } from '../../session/markers.ts';
import { ROUGH } from '../../session/graph.ts';
import { dragRange } from '../song-strip/strip-geometry.ts';
import type { Bench } from './bench.svelte.ts';
import { flipSettings } from './flip-settings.ts';
import { focusBench, focusRow, isBenchInFocus, rowInFocus } from './focus-places.ts';
import type { Listening, Slot } from './listening.svelte.ts';
import { hearSide, whyNoSide } from './hear-side.ts';
import { Reach } from './reach.ts';
import { goToPart } from './screen-parts.ts';
import { copyProcessors, pasteProcessors } from './copy-paste.ts';
import { pathRow } from './paths.ts';
import { removeItem } from '../workbench/chain-keys.ts';
import { muteTogether } from './together.ts';
import { sidesOf } from './sides.ts';
import { takesNumber, takesText, Typing } from './typing.ts';

/** What the keys can ask of the whole screen beside the bench. */
export interface ScreenActions {
  readonly open: () => void;
  readonly save: () => void;
  readonly search: () => void;
  /** False while a page stands over the song: its keys then rest. */
  readonly isSongShown: () => boolean;
}

const CLIPBOARD = new Set(['c', 'x', 'v']);
const isAsked = (): boolean => document.querySelector('dialog[open]') !== null;
const isPopoverOpen = (): boolean => document.querySelector('[popover]:popover-open') !== null;

// A button that is chosen already has nothing to do with the space bar.
const WORKED_BY_SPACE = 'button, summary, select, [type="checkbox"], [type="radio"]:not(:checked), [role="gridcell"]';

/**
 * The keys that hold everywhere. The space bar plays, unless words are being typed or it works a control that was reached
 * by keyboard. Enter commits a field and leaves it, Escape restores it and leaves it: its keys are the song's then, and where it was
 * reached by keyboard the focus stays on it. Undo is the session's, unless words
 * are being typed. The other keys rest while words are typed, or a dialogue or a list reached by keyboard takes them.
 */
export class Keys {
  readonly reach = new Reach();
  readonly typing = new Typing();

  constructor(
    private readonly bench: Bench,
    private readonly actions: ScreenActions,
  ) {}

  /** The space bar comes here before it comes to what has the focus. */
  readonly onkeydowncapture = (event: KeyboardEvent): void => {
    this.reach.onkeydown(event);
    if (event.key !== ' ' || event.altKey || event.ctrlKey || event.metaKey) return;
    if (!this.bench.session || !this.actions.isSongShown() || this.#isOwned(' ', event.target)) return;
    event.preventDefault();
    event.stopPropagation();
    if (!event.repeat) this.#play();
  };

  readonly onkeydown = (event: KeyboardEvent): void => {
    if (event.defaultPrevented || event.isComposing) return;
    const done = event.ctrlKey || event.metaKey ? this.#withControl(event) : !event.altKey && this.#plain(event);
    if (done) event.preventDefault();
  };

  #withControl({ key, shiftKey, target }: KeyboardEvent): boolean {
    if (isAsked()) return false;
    const name = key.toLowerCase();
    if (name === 'o' || name === 's') {
      if (name === 'o') this.actions.open();
      else if (this.bench.session) this.actions.save();
      return true;
    }
    if (name === 'k' && this.bench.session && this.actions.isSongShown()) {
      this.actions.search();
      return true;
    }
    if (CLIPBOARD.has(name) && this.#clips(name, shiftKey, target)) return true;
    if ((name !== 'z' && name !== 'y') || !this.actions.isSongShown()) return false;
    if (takesText(target)) {
      if (this.typing.isIn(target) && !takesNumber(target)) return false;
      this.typing.restore(target);
    }
    if (name === 'y' || shiftKey) this.bench.redo();
    else this.bench.undo();
    return true;
  }

  /** Copies, cuts or pastes processors, where no words are to be copied. */
  #clips(name: string, shift: boolean, target: EventTarget | null): boolean {
    const { bench } = this;
    const isText = takesText(target) || !(getSelection()?.isCollapsed ?? true);
    if (!bench.session || !this.actions.isSongShown() || shift || isText) return false;
    if (name === 'v') pasteProcessors(bench);
    else {
      const from = copyProcessors(bench);
      if (name === 'x' && from?.item) removeItem(bench, pathRow(bench.session, from.path), from.item);
    }
    return true;
  }

  #plain(event: KeyboardEvent): boolean {
    const { bench, typing } = this;
    const { key, target } = event;
    if (key === 'F6' && !isAsked()) return goToPart(event.shiftKey ? -1 : 1);
    const keeps = this.reach.has(target);
    if (takesText(target) && key === 'Enter') return typing.commit(target, keeps);
    if (takesText(target) && key === 'Escape' && typing.drop(target, keeps)) return true;
    if (!bench.session || !this.actions.isSongShown() || isAsked() || this.#isOwned(key, target)) return false;
    if (key === 'Escape') {
      if (isPopoverOpen()) return false;
      if (bench.notice !== null) bench.dismissNotice();
      else if (bench.selection.page !== 'paths') bench.selection.turnTo('paths');
      else bench.selection.clear();
      return true;
    }
    return listen(bench, bench.listening, key.toLowerCase(), event.shiftKey);
  }

  #play(): void {
    const { bench } = this;
    if (bench.view.audible.length > 0) void bench.attempt('sound', () => bench.listening.toggle());
  }

  /** Whether a key that could be the song's belongs to what has the focus. */
  #isOwned(key: string, target: EventTarget | null): boolean {
    // Escape has put back what was typed before it comes here.
    if (takesText(target) && (key === 'Escape' || this.typing.hasLeft(target))) return false;
    if (takesText(target)) return key !== ' ' || !takesNumber(target) || this.typing.isIn(target);
    if (!this.reach.has(target)) return false;
    if (target instanceof HTMLSelectElement) return true;
    return key === ' ' && target instanceof Element && target.matches(WORKED_BY_SPACE);
  }
}

const listen = (bench: Bench, listening: Listening, key: string, shift: boolean): boolean => {
  const side = sidesOf(bench.session!).find((candidate) => candidate.key === key);
  const noSide = side ? null : whyNoSide(bench, key);
  if (side) hearSide(bench, side.heard);
  else if (noSide !== null) bench.tell(noSide, 'sound');
  else if (key === 'a' || key === 'b') hearSlot(bench, key, shift);
  else if (key === 'f') hearSide(bench, listening.flipped);
  else if (key === 'w') return toggleSelected(bench, listening);
  else if (key === 's') return soloSelected(bench, shift);
  else if (key === 'u') return muteSelected(bench);
  else if (key === 'e') void goAcross(bench);
  else if (key === 'm') listening.toggleCheck('mono');
  else if (key === 'd') listening.dimTo(!listening.dim);
  else if (key === 'x') return flipOpened(bench);
  else if (key === 'l') listening.loop(null);
  else if (key === 'k') markHere(bench);
  else if (key === '[' || key === ']') setEdge(bench, listening, key);
  else return false;
  return true;
};

/** Hears what is in a slot; with shift, puts what is heard into it. */
const hearSlot = (bench: Bench, slot: Slot, puts: boolean): void => {
  const { listening } = bench;
  if (puts) listening.put(slot, listening.heard);
  else hearSide(bench, listening.slots[slot]);
};

/** The mix without the path that is selected, and with it again. */
const toggleSelected = (bench: Bench, listening: Listening): boolean => {
  const { path } = bench.selection;
  const { groups, buses } = bench.session!;
  if (path === null || ![...groups, ...buses].some(({ id }) => id === path)) {
    bench.tell('Select a path first: W plays the mix without it.', 'sound');
    return true;
  }
  listening.toggleWithout(path);
  return true;
};

/** The other of the two settings of the processor that is open. */
const flipOpened = (bench: Bench): boolean => {
  const { path, item: id } = bench.selection;
  const row = path === null ? null : pathRow(bench.session!, path);
  const item = row && id !== null ? itemOf(row.chain, id) : undefined;
  if (row && item && !isSplit(item)) flipSettings(bench, row, item);
  else bench.tell('Open a processor first: X goes between two settings of it.', 'edits');
  return true;
};

/** Solos the path that is selected, or ends that; with shift, ends every solo. */
const soloSelected = (bench: Bench, ends: boolean): boolean => {
  const { path } = bench.selection;
  if (ends) bench.listening.endSolo();
  else if (path === null || path === MIX || path === ROUGH) bench.tell('Select a path first: S solos it.', 'sound');
  else bench.listening.toggleSolo(path);
  return true;
};

/** Mutes the path that is selected, or ends that. */
const muteSelected = (bench: Bench): boolean => {
  const { session } = bench;
  const path = [...session!.groups, ...session!.buses, ...session!.tracks].find(
    ({ id }) => id === bench.selection.path,
  );
  if (!path) bench.tell('Select a path first: U mutes it.', 'sound');
  else muteTogether(bench, pathRow(session!, path.id));
  return true;
};

/** From a row to its editor, and from the bench back to its row; from elsewhere to the editor of what is selected. */
const goAcross = async (bench: Bench): Promise<void> => {
  const { selection } = bench;
  if (isBenchInFocus() && selection.path !== null) {
    focusRow(selection.path, selection.item);
    return;
  }
  const from = rowInFocus();
  if (from) selection.select(from.path, from.item);
  if (selection.path === null) {
    bench.tell('Select a path first: E opens its editor.', 'sound');
    return;
  }
  await tick();
  focusBench(selection.path);
};

/** A marker where it plays. */
const markHere = (bench: Bench): void => {
  bench.listening.look();
  bench.edit('add a marker', (s) => addMarker(s, bench.listening.seconds));
};

const setEdge = (bench: Bench, listening: Listening, key: '[' | ']'): void => {
  const { session, view } = bench;
  listening.look();
  const { startSeconds = 0, endSeconds = view.seconds } = listening.loopRange ?? {};
  const [from, to] = key === '[' ? [listening.seconds, endSeconds] : [startSeconds, listening.seconds];
  if (to > from) listening.loop(dragRange(from, to, session!, view.seconds, bench.panels.now.snap));
};
