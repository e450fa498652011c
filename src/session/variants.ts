import type { Session } from './schema.ts';

/** Prints of a session with some of its groups left out; buses that hear nothing any more fall silent by themselves. */
export const VARIANTS = ['instrumental', 'a-cappella'] as const;
export type Variant = (typeof VARIANTS)[number];

/** Whether the session marks any group as vocal: without one the variants cannot be told apart. */
export const hasVocals = ({ groups }: Session): boolean => groups.some(({ vocal }) => vocal);

/** The session with its vocal groups (instrumental) or all other groups (a cappella) muted. */
export const variantOf = (session: Session, variant: Variant): Session => {
  const leftOut = variant === 'instrumental';
  return {
    ...session,
    groups: session.groups.map((group) => (group.vocal === leftOut ? { ...group, on: false } : group)),
  };
};
