import type { Session } from './schema.ts';

/** Prints of a session with some of its groups left out; buses that hear nothing any more fall silent by themselves. */
export const VARIANTS = ['instrumental', 'voices'] as const;
export type Variant = (typeof VARIANTS)[number];

/** Whether the session calls any group a voice: without one the variants cannot be told apart. */
export const hasVoices = ({ groups }: Session): boolean => groups.some(({ voice }) => voice);

/** The session with its voice groups (instrumental) or all other groups (voices) switched off. */
export const variantOf = (session: Session, variant: Variant): Session => {
  const leftOut = variant === 'instrumental';
  return {
    ...session,
    groups: session.groups.map((group) => (group.voice === leftOut ? { ...group, on: false } : group)),
  };
};
