import { huesOf } from '../../session/hues.ts';
import type { Session } from '../../session/schema.ts';

/** The colour of a path, the same wherever it is drawn; ink for what is no path. */
export const hueOf = (session: Pick<Session, 'groups' | 'buses'>, pathId: string): string => {
  const hue = huesOf(session).get(pathId);
  return hue === undefined ? 'var(--ink-3)' : `var(--hue-${hue})`;
};
