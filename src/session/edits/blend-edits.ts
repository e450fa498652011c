import { setBlend } from './edits.ts';
import { levelDbOf } from '../lines/level-lines.ts';
import { CLOSED_DB, type Session } from '../schema.ts';

/** Sets the blends of several buses, dB, by their ids. */
export const setBlends = (session: Session, blends: ReadonlyMap<string, number>): Session =>
  [...blends].reduce((now, [bus, blendDb]) => setBlend(now, bus, Math.max(CLOSED_DB, blendDb)), session);

/**
 * Lowers the blend of every bus in `buses` by `downDb` (dB, positive); Infinity sets −∞. Blends never go below
 * CLOSED_DB.
 */
export const pullDown = (session: Session, buses: readonly string[], downDb: number): Session =>
  setBlends(
    session,
    new Map(
      session.buses
        .filter(({ id }) => buses.includes(id))
        .map(({ id }) => [id, levelDbOf(session, id) - downDb] as const),
    ),
  );
