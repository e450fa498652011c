import type { Session } from './schema.ts';

/** Prints with some groups muted; buses fed only by those are silent by themselves. */
export const VARIANTS = ['instrumental', 'a-cappella'] as const;
export type Variant = (typeof VARIANTS)[number];

/** True if any group is marked as vocal: without one, there is nothing to leave out. */
export const hasVocals = ({ groups }: Session): boolean => groups.some(({ vocal }) => vocal);

/** The session with its vocal groups (instrumental) or all other groups (a cappella) muted. */
export const variantOf = (session: Session, variant: Variant): Session => {
  const leftOut = variant === 'instrumental';
  return {
    ...session,
    groups: session.groups.map((group) => (group.vocal === leftOut ? { ...group, on: false } : group)),
  };
};
