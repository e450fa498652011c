import { put } from './edit-tools.ts';
import type { Session } from '../schema.ts';

const moved = <T>(list: readonly T[], from: number, to: number): T[] => {
  const place = Math.max(0, Math.min(list.length - 1, to));
  return list.toSpliced(from, 1).toSpliced(place, 0, list[from]!);
};

/** Moves a group among the groups, or a bus among the buses, to place `to` (0 first). The sound stays as it is. */
export const movePath = (session: Session, id: string, to: number): Session => {
  for (const list of ['groups', 'buses'] as const) {
    const from = session[list].findIndex((path) => path.id === id);
    if (from >= 0) return from === to ? session : put(session, { [list]: moved<unknown>(session[list], from, to) });
  }
  throw new RangeError(`the session has no group or bus "${id}"`);
};

/** Moves a track to place `to` (0 first) among the tracks of its group. */
export const orderTrack = (session: Session, id: string, to: number): Session => {
  const track = session.tracks.find((each) => each.id === id);
  if (!track) throw new RangeError(`the session has no track "${id}"`);
  const inGroup = session.tracks.filter(({ group }) => group === track.group);
  const ordered = moved(inGroup, inGroup.indexOf(track), to);
  if (ordered.every((each, n) => each === inGroup[n])) return session;
  let next = 0;
  return put(session, {
    tracks: session.tracks.map((each) => (each.group === track.group ? ordered[next++]! : each)),
  });
};
