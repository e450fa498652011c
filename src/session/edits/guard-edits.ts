import { put, requireValid } from './edit-tools.ts';
import type { GuardSet } from '../guard-set.ts';
import { sessionSchema, type Guard, type GuardLimit, type Session } from '../schema.ts';

/** Limits as a list that no limit stands in twice. */
const kept = (session: Session, guards: readonly GuardLimit[]): Session => {
  requireValid(sessionSchema.shape.guards, guards, ['guards']);
  return put(session, { guards: [...guards] });
};

/** Gives a guard a limit of the session's own, or switches it; it then no longer follows the default set. */
export const setGuard = (session: Session, limit: GuardLimit): Session => {
  const others = session.guards.filter(({ guard }) => guard !== limit.guard);
  return kept(session, [...others, limit]);
};

/** Takes a guard back to the default set. */
export const resetGuard = (session: Session, guard: Guard): Session =>
  session.guards.some((own) => own.guard === guard)
    ? kept(
        session,
        session.guards.filter((own) => own.guard !== guard),
      )
    : session;

/** Takes all limits of a set; null: those of the default set, whatever it becomes. */
export const setGuards = (session: Session, set: GuardSet | null): Session =>
  kept(session, set ? set.guards.map(({ guard, limit, on }) => ({ guard, limit, on })) : []);
