import { rolesOf } from '../roles.ts';
import type { Session } from '../schema.ts';

/** Prints with some groups muted; buses fed only by those are silent by themselves. */
export const VARIANTS = ['instrumental', 'a-cappella', 'without-lead'] as const;
export type Variant = (typeof VARIANTS)[number];

/** True if any group is marked as vocal: without one, there is nothing to leave out. */
export const hasVocals = ({ groups }: Session): boolean => groups.some(({ vocal }) => vocal);

/** Ids of the vocal groups that sing the lead: all that their names do not call backing. */
export const leadsOf = ({ groups }: Session): string[] =>
  groups.filter((group) => group.vocal && rolesOf(group).includes('lead vocal')).map(({ id }) => id);

/** The session with these groups muted. */
export const withoutGroups = (session: Session, ids: readonly string[]): Session => ({
  ...session,
  groups: session.groups.map((group) => (ids.includes(group.id) ? { ...group, on: false } : group)),
});

/** The session with its vocal groups (instrumental), all others (a cappella) or its lead vocals (without-lead) muted. */
export const variantOf = (session: Session, variant: Variant): Session => {
  if (variant === 'without-lead') return withoutGroups(session, leadsOf(session));
  const leftOut = session.groups.filter(({ vocal }) => vocal === (variant === 'instrumental'));
  return withoutGroups(
    session,
    leftOut.map(({ id }) => id),
  );
};

/** The session with the chain of one group or bus taken out, and the lines that move it. */
export const dryOf = (session: Session, id: string): Session => {
  const bare = <P extends { readonly id: string }>(path: P): P => (path.id === id ? { ...path, chain: [] } : path);
  return {
    ...session,
    groups: session.groups.map(bare),
    buses: session.buses.map(bare),
    lines: session.lines.filter(({ target }) => target.of !== id || target.item === undefined),
  };
};
