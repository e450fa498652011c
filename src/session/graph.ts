import type { Session } from './schema.ts';

/** What each group and bus hears: those that send to it, and the group or bus of its key (a track's group does not count). */
const feedersOf = (session: Session): ReadonlyMap<string, readonly string[]> => {
  const paths = [...session.groups, ...session.buses];
  const isPath = new Set(paths.map(({ id }) => id));
  return new Map(
    paths.map(({ id, key }) => [
      id,
      [
        ...paths.filter(({ sends }) => sends.some(({ to }) => to === id)).map((path) => path.id),
        ...(key !== null && isPath.has(key) ? [key] : []),
      ],
    ]),
  );
};

/** A way round that ends where it began, as ids in the order in which sound flows; null when there is none. */
export const cycleOf = (session: Session): readonly string[] | null => {
  const feeders = feedersOf(session);
  const done = new Set<string>();
  const visit = (id: string, way: readonly string[]): readonly string[] | null => {
    const at = way.indexOf(id);
    if (at >= 0) return [...way.slice(at), id].reverse();
    if (done.has(id)) return null;
    for (const feeder of feeders.get(id) ?? []) {
      const cycle = visit(feeder, [...way, id]);
      if (cycle) return cycle;
    }
    done.add(id);
    return null;
  };
  for (const id of feeders.keys()) {
    const cycle = visit(id, []);
    if (cycle) return cycle;
  }
  return null;
};

/**
 * All groups and buses, each after everything that feeds or keys it; otherwise in the session's order.
 * Throws RangeError when there is a cycle: sessions are checked before.
 */
export const pathOrder = (session: Session): readonly string[] => {
  const cycle = cycleOf(session);
  if (cycle) throw new RangeError(`sends run in a circle: ${cycle.join(' -> ')}`);
  const feeders = feedersOf(session);
  const ordered = new Set<string>();
  const visit = (id: string): void => {
    if (ordered.has(id)) return;
    feeders.get(id)?.forEach(visit);
    ordered.add(id);
  };
  for (const id of feeders.keys()) visit(id);
  return [...ordered];
};
