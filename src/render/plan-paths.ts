import type { Session } from '../session/schema.ts';
import type { PlanPath } from './plan.ts';
import { gainAndMoves, PlannedLines } from './planned-lines.ts';

/** The paths of a session, each at its fader or blend; one that is switched off is silent. */
export const planPaths = (session: Session, lines = new PlannedLines(session)): PlanPath[] => {
  const path = (id: string, kind: PlanPath['kind'], levelDb: number, on: boolean): PlanPath => {
    const level = lines.setting({ of: id, what: 'level' }, levelDb);
    return { id, kind, ...gainAndMoves(level, lines.setting({ of: id, what: 'on' }, Number(on))) };
  };
  return [
    ...session.groups.map(({ id, on, faderDb }) => path(id, 'group', faderDb, on)),
    ...session.buses.map(({ id, on, blendDb }) => path(id, 'bus', blendDb, on)),
  ];
};
