import { ProblemError } from './problem.ts';
import type { Session } from './schema.ts';

/** Prints of a session with some of its groups left out; buses that hear nothing any more fall silent by themselves. */
export type Variant = 'instrumental' | 'voices';

/**
 * The session with its voice groups (instrumental) or all other groups (voices) switched off.
 * @throws ProblemError when the session calls no group a voice: nobody could tell the two apart
 */
export const variantOf = (session: Session, variant: Variant): Session => {
  if (!session.groups.some(({ voice }) => voice)) {
    throw new ProblemError({
      code: 'mismatch',
      path: 'groups',
      expected: `at least one group with "voice": true, as a print of kind "${variant}" needs`,
      found: 'none',
    });
  }
  const leftOut = variant === 'instrumental';
  return {
    ...session,
    groups: session.groups.map((group) => (group.voice === leftOut ? { ...group, on: false } : group)),
  };
};
