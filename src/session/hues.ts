import { HUES, type Bus, type Group, type Session } from './schema.ts';

type Paths = Pick<Session, 'groups' | 'buses'>;

/** The first of the hues that the fewest paths have. */
const leastUsed = (used: Iterable<number>): number => {
  const counts = new Array<number>(HUES).fill(0);
  for (const hue of used) counts[hue - 1]!++;
  return counts.indexOf(Math.min(...counts)) + 1;
};

/** Worked out before: neither list is ever changed. */
const known = new WeakMap<
  Paths['groups'],
  { readonly buses: Paths['buses']; readonly hues: ReadonlyMap<string, number> }
>();

/**
 * The hue of every group and bus, 1..HUES: its own where the session says it, else in the order of the table the first
 * that no other has. Up to HUES paths all differ.
 */
export const huesOf = ({ groups, buses }: Paths): ReadonlyMap<string, number> => {
  const before = known.get(groups);
  if (before?.buses === buses) return before.hues;
  const paths = [...groups, ...buses];
  const hues = new Map(paths.flatMap(({ id, hue }) => (hue === undefined ? [] : [[id, hue] as const])));
  for (const { id } of paths) if (!hues.has(id)) hues.set(id, leastUsed(hues.values()));
  known.set(groups, { buses, hues });
  return hues;
};

/** The hue of a path that is added. */
export const nextHue = (paths: Paths): number => leastUsed(huesOf(paths).values());

const painted = <P extends Paths>(paths: P, hues: ReadonlyMap<string, number>): P => {
  const paint = <T extends Group | Bus>(path: T): T =>
    path.hue === undefined ? { ...path, hue: hues.get(path.id)! } : path;
  return { ...paths, groups: paths.groups.map(paint), buses: paths.buses.map(paint) };
};

/** The session with the hue of every path written down, so that no later edit changes one; in its passes a path has the hue that it has now. */
export const withHues = (session: Session): Session => {
  const now = huesOf(session);
  const passes = session.passes.map((pass) => {
    const known = <T extends Group | Bus>(path: T): T => {
      const hue = path.hue ?? now.get(path.id);
      return hue === undefined ? path : { ...path, hue };
    };
    const paths = { ...pass, groups: pass.groups.map(known), buses: pass.buses.map(known) };
    return painted(paths, huesOf(paths));
  });
  return { ...painted(session, now), passes };
};
