import type { Command } from './command.ts';

/** Where what can be pressed is found by what it is of: rows, chains and findings have commands of their own. */
const OF_SOMETHING = 'dialog, [data-place], [popover]';

const isInView = (element: HTMLElement): boolean => element.checkVisibility({ visibilityProperty: true });

/** What a button shows, without what is there for the eye alone. */
const nameOf = (button: HTMLElement): string =>
  (button.getAttribute('aria-label') ?? button.textContent).replace(/[…+]/g, '').replace(/\s+/g, ' ').trim();

/**
 * What opens something or adds something on the screen as it is, by the words on it, and the sheets that can be turned to. Those that have
 * commands of their own (`known`, by label) are left out.
 */
export const buttonCommands = (known: ReadonlySet<string>): Command[] => {
  const buttons = [...document.querySelectorAll<HTMLElement>('button:enabled')].filter(
    (button) => /^\s*\+|…\s*$/.test(button.textContent) || button.matches('[aria-expanded]'),
  );
  const sheets = [...document.querySelectorAll<HTMLElement>('label:has(input[type="radio"]:enabled)')];
  const found = new Map<string, Command>();
  for (const element of [...buttons, ...sheets]) {
    const label = nameOf(element);
    if (label === '' || known.has(label) || found.has(label) || !isInView(element) || element.closest(OF_SOMETHING))
      continue;
    const target = element.querySelector('input') ?? element;
    // Once the search is gone and has given the focus back.
    const run = (): void =>
      void requestAnimationFrame(() => {
        target.focus();
        target.click();
      });
    found.set(label, { id: `press ${label}`, label, about: element.title || 'on the screen', run });
  }
  return [...found.values()];
};
