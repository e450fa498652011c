import { setOn } from '../../session/edits/edits.ts';
import type { Session } from '../../session/schema.ts';
import { feedsOthers } from './feeds.ts';

/** The session for a sweep of some buses, and whether its rows must be rendered. */
export interface SweptSession {
  /** The session with the swept buses on: a bus that is off is swept as if it were on. */
  readonly session: Session;
  /** The swept buses that are off. */
  readonly off: readonly string[];
  /** A swept bus sends post-fader to another: paths then change with its blend, and every step is rendered. */
  readonly rendersEach: boolean;
}

/** The session to sweep the buses `swept` in, and whether every step must be rendered. */
export const sweptSession = (session: Session, swept: readonly string[]): SweptSession => {
  return {
    session: swept.reduce((on, id) => setOn(on, id, true), session),
    off: session.buses.filter(({ id, on }) => swept.includes(id) && !on).map(({ id }) => id),
    rendersEach: swept.some((id) => feedsOthers(session, id)),
  };
};
