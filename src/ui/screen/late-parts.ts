import type { PathRow } from '../bench/paths.ts';
import type { SweepJob } from '../sweep/sweep-job.svelte.ts';
import { LatePart } from './late-part.svelte.ts';

interface Dialog extends Record<string, unknown> {
  readonly onclose: () => void;
}

/** Dialogs that are seldom wanted. */
export const DIALOGS = {
  print: new LatePart<Dialog>(() => import('../print/print-dialog.svelte')),
  trial: new LatePart<Dialog>(() => import('../trial/trial-dialog.svelte')),
  approval: new LatePart<Dialog>(() => import('../approval/approval-dialog.svelte')),
  bundle: new LatePart<Dialog>(() => import('../bundle/bundle-dialog.svelte')),
};

/** Pages that stand in place of the table of paths. */
export const PAGES = {
  ledger: new LatePart(() => import('../ledger/ledger-view.svelte')),
  received: new LatePart(() => import('../received/received-view.svelte')),
  notes: new LatePart(() => import('../notes/notes-view.svelte')),
  sends: new LatePart(() => import('../sends/send-matrix.svelte')),
};

/** Panels that stand in place of another. */
export const PANELS = {
  bringUp: new LatePart<Dialog>(() => import('../bring-up/bring-up-panel.svelte')),
  sweep: new LatePart<{ readonly row: PathRow; readonly job: SweepJob }>(() => import('../sweep/sweep-panel.svelte')),
  targets: new LatePart(() => import('../targets/targets-panel.svelte')),
};
