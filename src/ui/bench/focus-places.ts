import { tick } from 'svelte';

// Places are elements with `data-place`: "row PATH", "tile PATH ITEM" (a row's picture of a processor), "line PATH ITEM"
// (a line of the chain list), "bench PATH". The control that stands for a place is marked `data-main`, or is the place itself.

const all = (): HTMLElement[] => [...document.querySelectorAll<HTMLElement>('[data-place]')];
const nameOf = (place: Element | null | undefined): string => place?.getAttribute('data-place') ?? '';
const named = (name: string): HTMLElement | undefined => all().find((place) => nameOf(place) === name);
const placeAround = (element: Element | null): HTMLElement | null =>
  element?.closest<HTMLElement>('[data-place]') ?? null;

/** The control that stands for a place; null: none does. */
const mainOf = (place: HTMLElement): HTMLElement | null =>
  place.querySelector<HTMLElement>('[data-main]') ?? (place.tabIndex >= 0 ? place : null);

/** `name` and the other places like it, the nearest first: those that follow, then those that come before. */
const likeIt = (name: string, places: readonly string[], isLike: (other: string) => boolean): string[] => {
  const like = places.filter(isLike);
  const at = like.indexOf(name);
  return at < 0 ? [name] : [...like.slice(at), ...like.slice(0, at).reverse()];
};

/** Where the focus goes from a place, the best first: there, to its neighbours, to its row, to the rows beside that. */
const waysFrom = (name: string): string[] => {
  const places = all().map(nameOf);
  const [kind, path] = name.split(' ');
  const siblings = likeIt(name, places, (other) => other.startsWith(`${kind} ${path} `));
  return [...siblings, ...likeIt(`row ${path}`, places, (other) => other.startsWith('row '))];
};

/**
 * Called just before an edit shows: keeps the focus with what has it when that is moved, and gives it to what comes next
 * when that is removed, where it would fall to the page.
 */
export const keepFocus = async (): Promise<void> => {
  const had = document.activeElement;
  const place = placeAround(had);
  // Where no control stands for a place, the guard finds the same one beside it.
  if (!place || !mainOf(place)) return;
  const ways = waysFrom(nameOf(place));
  await tick();
  if (document.activeElement !== null && document.activeElement !== document.body) return;
  // What was moved lost it on the way. What goes from a place that stays gives it to what is beside it there: see the guard.
  if (had?.isConnected) (had as HTMLElement).focus();
  if (place.isConnected) return;
  const next = ways.map(named).find((found) => found !== undefined);
  if (next) mainOf(next)?.focus();
};

/** The path and the processor whose row has the focus; null elsewhere. */
export const rowInFocus = (): { readonly path: string; readonly item: string | null } | null => {
  const [kind, path, item = null] = nameOf(placeAround(document.activeElement)).split(' ');
  return path !== undefined && (kind === 'row' || kind === 'tile') ? { path, item } : null;
};

/** The same, and the line of the chain list that has it. */
export const placeInFocus = (): ReturnType<typeof rowInFocus> => {
  const [kind, path, item = null] = nameOf(placeAround(document.activeElement)).split(' ');
  return path !== undefined && kind === 'line' ? { path, item } : rowInFocus();
};

export const isBenchInFocus = (): boolean =>
  (document.activeElement?.closest('[data-place^="bench "]') ?? null) !== null;

/** The settings that leave letters to the song: no field, and no select. */
const SETTINGS = '[data-settings] :is(button, input:not([type="text"])):enabled:not([hidden])';

/** Focuses the first setting of what the bench shows, or the first line of its chain. */
export const focusBench = (path: string): void => {
  const bench = named(`bench ${path}`);
  const find = (selector: string): HTMLElement | null => bench?.querySelector<HTMLElement>(selector) ?? null;
  (find(SETTINGS) ?? find('[data-main]') ?? find('button'))?.focus();
};

/** Focuses the row of a path: the picture of a processor, or its name; false: there is none. */
export const focusRow = (path: string, item: string | null): boolean => {
  const place = (item === null ? undefined : named(`tile ${path} ${item}`)) ?? named(`row ${path}`);
  if (place) mainOf(place)?.focus();
  return place !== undefined;
};
