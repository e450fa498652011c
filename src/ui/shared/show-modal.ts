import { firstWithin, giveBackLater } from '../bench/focus-guard.ts';

/** Shows a dialogue with the focus on its first control, and gives that back to what had it when it goes. */
export const showModal = (dialog: HTMLDialogElement): (() => void) => {
  const giveBack = giveBackLater();
  dialog.showModal();
  // The browser begins with what scrolls, which has no name.
  if (!document.activeElement?.matches('button, input, select, textarea')) firstWithin(dialog)?.focus();
  return giveBack;
};
