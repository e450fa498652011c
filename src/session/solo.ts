import { ROUGH } from './graph.ts';
import type { Bus, Group, Send, Session, Track } from './schema.ts';

/** Group of a track that is not heard in its own: no group can be called so. It still feeds keys and buses. */
const NOWHERE = 'mix';

/** What can be soloed: tracks, groups and buses; ids of what is gone are left out. */
export const soloable = ({ tracks, groups, buses }: Session, ids: readonly string[]): string[] => {
  const known = new Set([...tracks, ...groups, ...buses].map(({ id }) => id));
  return ids.filter((id) => known.has(id));
};

/** `start` and all that is reached from it by `next`. */
const reached = (start: Iterable<string>, next: (id: string) => readonly string[]): Set<string> => {
  const found = new Set(start);
  for (const id of found) for (const other of next(id)) found.add(other);
  return found;
};

/** What a group or bus of `soloed` says of itself beside what a session has. */
interface InPlace {
  /** Its direct sound or return is not heard; what it sends and steers is. */
  readonly unheard?: true;
}

/** Whether a path is kept from the mix because something else is soloed. */
export const isUnheard = (path: (Group | Bus) & InPlace): boolean => path.unheard === true;

/**
 * The session in which only what is soloed is heard, in place:
 * - a soloed group with its tracks, a soloed track through its group, a soloed bus with all that feeds it;
 * - the buses that they feed, as far as these are solo-safe, fed by nothing else;
 * - groups that are solo-safe, as they are.
 * What feeds a soloed bus is heard through it only. Key inputs listen to what they always do. Buses that lead to nothing that is heard sound
 * as before, unheard, so that they are not rendered anew. For rendering alone: it says what a
 * session file does not (`isUnheard`). Ids that the session does not have count for nothing; none: the session itself.
 */
export const soloed = (session: Session, ids: readonly string[]): Session => {
  const solo = new Set(soloable(session, ids));
  if (solo.size === 0) return session;
  const { rough, tracks, groups, buses } = session;
  const members = new Map<string, Track | Group | Bus>([...tracks, ...groups, ...buses].map((each) => [each.id, each]));
  const sendsOf = (id: string): string[] => members.get(id)?.sends.map(({ to }) => to) ?? [];
  const safe = groups.filter(({ soloSafe }) => soloSafe).map(({ id }) => id);
  const withinGroups = tracks.filter(({ group }) => solo.has(group) || safe.includes(group)).map(({ id }) => id);
  const groupOf = new Map(tracks.filter(({ id }) => solo.has(id)).map(({ id, group }) => [id, group]));
  const onward = (id: string): string[] => [...sendsOf(id), ...(groupOf.has(id) ? [groupOf.get(id)!] : [])];
  const heard = reached([...solo, ...withinGroups, ...safe], onward);
  const sendersTo = (bus: string): string[] =>
    [...members.values()].filter(({ sends }) => sends.some(({ to }) => to === bus)).map(({ id }) => id);
  const soloedBuses = buses.filter(({ id }) => solo.has(id)).map(({ id }) => id);
  const needed = reached(soloedBuses, sendersTo);
  // What leads to nothing that is heard stays as it is, and so as it was rendered.
  const isAside = (bus: string): boolean => !heard.has(bus) && !needed.has(bus);
  const kept = (from: string, sends: readonly Send[]): Send[] =>
    sends.filter(({ to }) => heard.has(from) || needed.has(to) || isAside(to));

  const homes = new Set(groupOf.values());
  const mark = (isHeard: boolean): InPlace => (isHeard ? {} : { unheard: true });
  return {
    ...session,
    rough: rough && { ...rough, sends: kept(ROUGH, rough.sends) },
    tracks: tracks.map((track) => {
      const isLeftOut = homes.has(track.group) && !solo.has(track.group) && !solo.has(track.id);
      return { ...track, sends: kept(track.id, track.sends), ...(isLeftOut ? { group: NOWHERE } : {}) };
    }),
    groups: groups.map((group) => ({
      ...group,
      sends: kept(group.id, group.sends),
      ...mark(solo.has(group.id) || homes.has(group.id) || group.soloSafe),
    })),
    buses: buses.map((bus) => ({
      ...bus,
      sends: kept(bus.id, bus.sends),
      ...mark(solo.has(bus.id) || (bus.soloSafe && heard.has(bus.id))),
    })),
  };
};

/** What is soloed, by name: "Drums, Kick". */
export const soloNames = ({ tracks, groups, buses }: Session, ids: readonly string[]): string =>
  [...groups, ...buses, ...tracks]
    .filter(({ id }) => ids.includes(id))
    .map(({ name }) => name)
    .join(', ');
