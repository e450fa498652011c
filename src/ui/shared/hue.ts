import type { Session } from '../../session/schema.ts';

/** How many hues tokens.css holds; after the last one they begin again. */
export const HUES = 18;

/** The colour of a path: by its place among the groups and then the buses, so that it is the same wherever it is drawn. */
export const hueOf = (session: Session, pathId: string): string => {
  const place = [...session.groups, ...session.buses].findIndex(({ id }) => id === pathId);
  return place < 0 ? 'var(--ink-3)' : `var(--hue-${(place % HUES) + 1})`;
};
