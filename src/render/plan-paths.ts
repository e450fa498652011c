import { gainOf } from '../audio/decibels.ts';
import { CLOSED_DB, type Session } from '../session/schema.ts';
import type { PlanPath } from './plan.ts';

/** Linear gain of a fader, blend or send in dB; exactly 0 at CLOSED_DB and below. */
export const faderGain = (db: number): number => (db <= CLOSED_DB ? 0 : gainOf(db));

/** The paths of a session, each at its fader or blend; one that is switched off is silent. */
export const planPaths = ({ groups, buses }: Pick<Session, 'groups' | 'buses'>): PlanPath[] => [
  ...groups.map(({ id, on, faderDb }) => ({ id, kind: 'group' as const, gain: on ? faderGain(faderDb) : 0 })),
  ...buses.map(({ id, on, blendDb }) => ({ id, kind: 'bus' as const, gain: on ? faderGain(blendDb) : 0 })),
];
