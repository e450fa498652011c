import { setOn } from '../../session/edits.ts';
import type { Session } from '../../session/schema.ts';
import { feedsOthers } from './feeds.ts';

/** What a sweep of some buses stands on. */
export interface SweepGround {
  /** The session with the swept buses on: a bus that is off is swept as if it were on. */
  readonly session: Session;
  /** The swept buses that are off. */
  readonly off: readonly string[];
  /** A swept bus sends on from behind its blend: then paths sound otherwise at every blend, and each is rendered. */
  readonly rendersEach: boolean;
}

/** What a sweep of the buses `swept` stands on. */
export const sweepGround = (session: Session, swept: readonly string[]): SweepGround => {
  return {
    session: swept.reduce((on, id) => setOn(on, id, true), session),
    off: session.buses.filter(({ id, on }) => swept.includes(id) && !on).map(({ id }) => id),
    rendersEach: swept.some((id) => feedsOthers(session, id)),
  };
};
