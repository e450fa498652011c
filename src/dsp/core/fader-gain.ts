import { gainOf } from '../../audio/decibels.ts';

/** Blends, faders and sends at this level or below are −∞ dB: silent. */
export const CLOSED_DB = -90;

/** Linear gain of a fader, blend or send in dB; exactly 0 at CLOSED_DB and below. */
export const faderGain = (db: number): number => (db <= CLOSED_DB ? 0 : gainOf(db));
