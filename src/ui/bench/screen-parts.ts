import { firstWithin } from './focus-guard.ts';

const PARTS = 'header, main :is(section, aside)[aria-label], [aria-label="Notices"], [aria-label="Hearing"]';

/** The parts of the screen, from top to bottom; what is a part of another is none. */
const partsOfScreen = (): HTMLElement[] =>
  [...document.querySelectorAll<HTMLElement>(PARTS)].filter(
    (part) => !part.parentElement?.closest(PARTS) && firstWithin(part) !== undefined,
  );

/** What had the focus in a part when it was left. */
const leftAt = new WeakMap<HTMLElement, HTMLElement>();

/** Goes to the next part of the screen, or to the one before: to what had the focus there last, else to its first control; false: there is none. */
export const goToPart = (step: 1 | -1): boolean => {
  const parts = partsOfScreen();
  const had = document.activeElement as HTMLElement | null;
  const from = parts.findIndex((part) => part.contains(had));
  if (had && parts[from]) leftAt.set(parts[from], had);
  const to = parts[from < 0 ? (step > 0 ? 0 : parts.length - 1) : (from + step + parts.length) % parts.length];
  if (!to) return false;
  const last = leftAt.get(to);
  (last && to.contains(last) && last.checkVisibility() ? last : firstWithin(to))?.focus();
  return true;
};
