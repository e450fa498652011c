import type { Session } from './schema.ts';

/** A state of the session and what was done next to leave it. */
interface Step {
  readonly session: Session;
  /** What was done, as the menu says it: "blend Side spread". */
  readonly label: string;
}

/** The current session with the steps to undo and to redo. */
export interface History {
  readonly present: Session;
  /** States before, the last one next to undo. */
  readonly past: readonly Step[];
  /** States undone, the first one next to redo; the label says what leads there. */
  readonly future: readonly Step[];
  /** The gesture whose moves still belong to the last step; null once it has ended. */
  readonly gesture: string | null;
}

/** So many steps back are kept. */
const DEPTH = 500;

/** A session with nothing behind it. */
export const startHistory = (session: Session): History => ({ present: session, past: [], future: [], gesture: null });

/**
 * Records a new session. Moves of one control share a `gesture` (say "blend side-spread") and are one step until
 * `endGesture`; without a gesture every call is a step. A session equal to the present one is no step.
 */
export const record = (history: History, session: Session, label: string, gesture: string | null = null): History => {
  if (session === history.present) return history;
  const goesOn = gesture !== null && gesture === history.gesture;
  const past = goesOn ? history.past : [...history.past, { session: history.present, label }].slice(-DEPTH);
  return { present: session, past, future: [], gesture };
};

/** The control was let go: its next move is a new step. */
export const endGesture = (history: History): History =>
  history.gesture === null ? history : { ...history, gesture: null };

/** One step back; the same history when there is none. */
export const undo = (history: History): History => {
  const { past, present, future } = history;
  const step = past.at(-1);
  if (!step) return history;
  return {
    present: step.session,
    past: past.slice(0, -1),
    future: [{ session: present, label: step.label }, ...future],
    gesture: null,
  };
};

/** One step forward again; the same history when there is none. */
export const redo = (history: History): History => {
  const { past, present, future } = history;
  const [step, ...rest] = future;
  if (!step) return history;
  return {
    present: step.session,
    past: [...past, { session: present, label: step.label }],
    future: rest,
    gesture: null,
  };
};

/** What undo would take back; null when there is nothing. */
export const undoLabel = ({ past }: History): string | null => past.at(-1)?.label ?? null;

/** What redo would do again; null when there is nothing. */
export const redoLabel = ({ future }: History): string | null => future[0]?.label ?? null;
