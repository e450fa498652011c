import { giveBackLater } from '../bench/focus-guard.ts';

/** Shows a dialogue, and gives the focus back to what had it when it goes. */
export const showModal = (dialog: HTMLDialogElement): (() => void) => {
  const giveBack = giveBackLater();
  dialog.showModal();
  return giveBack;
};
