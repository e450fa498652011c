import { huesOf } from '../../session/hues.ts';
import type { Session } from '../../session/schema.ts';

type Paths = Pick<Session, 'groups' | 'buses'>;

/** The colour of each path, the same wherever it is drawn; ink for what is no path. */
export const huesFor = (session: Paths): ((pathId: string) => string) => {
  const hues = huesOf(session);
  return (pathId) => {
    const hue = hues.get(pathId);
    return hue === undefined ? 'var(--ink-3)' : `var(--hue-${hue})`;
  };
};

/** The colour of one path. */
export const hueOf = (session: Paths, pathId: string): string => huesFor(session)(pathId);
