import type { Bus, Group, Session } from '../../session/schema.ts';
import { isUnheard } from '../../session/solo.ts';
import type { PlanPath } from './plan.ts';
import { gainAndMoves, PlannedLines } from './planned-lines.ts';

/** The paths of a session, each at its fader or blend; one that is switched off is silent, and so is one that is kept from the mix by a solo. */
export const planPaths = (session: Session, lines = new PlannedLines(session)): PlanPath[] => {
  const path = (of: Group | Bus, kind: PlanPath['kind'], levelDb: number): PlanPath => {
    const { id, on } = of;
    if (isUnheard(of)) return { id, kind, gain: 0 };
    const level = lines.setting({ of: id, what: 'level' }, levelDb);
    return { id, kind, ...gainAndMoves(level, lines.setting({ of: id, what: 'on' }, Number(on))) };
  };
  return [
    ...session.groups.map((group) => path(group, 'group', group.faderDb)),
    ...session.buses.map((bus) => path(bus, 'bus', bus.blendDb)),
  ];
};
