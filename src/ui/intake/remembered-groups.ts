import type { RememberedGroups } from './placement.ts';

const KEY = 'tributary-groups';
/** Of more names, those that were put last are kept. */
const MOST = 500;

const isPairs = (value: unknown): value is [string, string][] =>
  Array.isArray(value) &&
  value.every((pair) => Array.isArray(pair) && pair.length === 2 && pair.every((word) => typeof word === 'string'));

/** Where files of a name were put by hand in earlier songs, on this device. */
export const rememberedGroups = (): RememberedGroups => {
  try {
    const kept: unknown = JSON.parse(localStorage.getItem(KEY) ?? '[]');
    return new Map(isPairs(kept) ? kept : []);
  } catch {
    // A browser that keeps nothing for pages, or what another program left there.
    return new Map();
  }
};

/** Remembers groups by the stems of files. */
export const rememberGroups = (groups: readonly (readonly [stem: string, group: string])[]): void => {
  if (groups.length === 0) return;
  const all = new Map(rememberedGroups());
  for (const [stem, group] of groups) {
    all.delete(stem);
    all.set(stem, group);
  }
  try {
    localStorage.setItem(KEY, JSON.stringify([...all].slice(-MOST)));
  } catch {
    // It is a comfort only.
  }
};
