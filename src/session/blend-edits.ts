import { setBlend } from './edits.ts';
import { CLOSED_DB, type Session } from './schema.ts';

/** Sets the blends of several buses, dB, by their ids. */
export const setBlends = (session: Session, blends: ReadonlyMap<string, number>): Session =>
  [...blends].reduce((now, [bus, blendDb]) => setBlend(now, bus, Math.max(CLOSED_DB, blendDb)), session);

/** Pulls every bus in `buses` down by `downDb` from where it is; Infinity shuts it. What would fall below the shut end is shut. */
export const pullDown = (session: Session, buses: readonly string[], downDb: number): Session =>
  setBlends(
    session,
    new Map(
      session.buses.filter(({ id }) => buses.includes(id)).map(({ id, blendDb }) => [id, blendDb - downDb] as const),
    ),
  );
