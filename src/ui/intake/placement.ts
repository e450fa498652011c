import { addGroup, addTrack, setRough } from '../../session/edits.ts';
import { familyOf, homeOf } from '../../session/roles.ts';
import { sessionSchema, type Session } from '../../session/schema.ts';
import type { AudioFileFacts } from '../../engine/engine.ts';
import { nameOf } from './dropped.ts';

/** Where a file goes: it is the rough, or a track of a group that is there or is made for it. */
export type Target =
  | { readonly kind: 'rough' }
  | { readonly kind: 'group'; readonly id: string }
  | { readonly kind: 'new group'; readonly name: string }
  | { readonly kind: 'nowhere' };

export interface Placement {
  readonly facts: AudioFileFacts;
  readonly target: Target;
  /** Why it is left out by itself. */
  readonly note?: string;
}

/** Where tracks go whose names tell nothing. */
const OTHER = 'Other';

const isRoughName = (name: string): boolean => /rough|\bmix\b|bounce|2-?mix/.test(name);

/** A track's name from its file's: no ending, no bare separators. */
export const trackName = (path: string): string => {
  const words = nameOf(path)
    .replace(/\.[^.]*$/, '')
    .replace(/[_-]+/g, ' ')
    .replace(/\s+/g, ' ')
    .trim()
    .slice(0, 80);
  return words === '' ? 'Track' : `${words[0]!.toUpperCase()}${words.slice(1)}`;
};

/** What the place of a file is told by: its name, without folders and ending. */
const plainName = (path: string): string => trackName(path).toLowerCase();

/** Which of the files is the rough: the first that is called that, else the first that is called a mix. */
const roughAmong = (files: readonly AudioFileFacts[]): AudioFileFacts | undefined =>
  files.find(({ path }) => plainName(path).includes('rough')) ??
  files.find(({ path }) => isRoughName(plainName(path)) && familyOf(trackName(path)) === null);

/**
 * A first guess where each file goes, from its name; the user has the last word. One that is called a rough is the
 * rough, also in place of a rough that is there; others that are called that are left out, and say so.
 */
export const guessPlacements = (session: Session | null, files: readonly AudioFileFacts[]): Placement[] => {
  const rough = roughAmong(files);
  return files.map((facts): Placement => {
    if (facts === rough) return { facts, target: { kind: 'rough' } };
    const name = trackName(facts.path);
    const family = familyOf(name);
    if (family === null && isRoughName(plainName(facts.path))) {
      const note = `Looks like a second rough mix; ${nameOf(rough!.path)} is the rough.`;
      return { facts, target: { kind: 'nowhere' }, note };
    }
    const groups = session?.groups ?? [];
    const called = family ?? OTHER;
    const group = homeOf(name, groups) ?? groups.find((each) => each.name.toLowerCase() === called.toLowerCase());
    return { facts, target: group ? { kind: 'group', id: group.id } : { kind: 'new group', name: called } };
  });
};

/** Why these placements cannot be taken, as a sentence; null when they can. */
export const placementFault = (placements: readonly Placement[]): string | null => {
  const roughs = placements.filter(({ target }) => target.kind === 'rough').length;
  if (roughs > 1) return 'Only one file can be the rough: choose which.';
  return placements.every(({ target }) => target.kind === 'nowhere') ? 'No file is assigned.' : null;
};

/** The session with the files in their places; new groups are made in the order in which they are first named. */
export const place = (session: Session, placements: readonly Placement[]): Session =>
  placements.reduce((placed, { facts: { path }, target }) => {
    if (target.kind === 'nowhere') return placed;
    if (target.kind === 'rough') return setRough(placed, path);
    if (target.kind === 'group') return addTrack(placed, { name: trackName(path), file: path, group: target.id });
    const isNamed = ({ name }: { name: string }): boolean => name.toLowerCase() === target.name.trim().toLowerCase();
    const withGroup = placed.groups.some(isNamed) ? placed : addGroup(placed, target.name);
    return addTrack(withGroup, { name: trackName(path), file: path, group: withGroup.groups.find(isNamed)!.id });
  }, session);

/** What is to come in: all but what is left out. */
export const coming = (placements: readonly Placement[]): readonly AudioFileFacts[] =>
  placements.filter(({ target }) => target.kind !== 'nowhere').map(({ facts }) => facts);

/** An empty session at the rate that most of the files have; of two such rates, the higher. */
export const newSession = (files: readonly AudioFileFacts[]): Session => {
  const rates = files.map(({ sampleRate }) => sampleRate);
  const count = (rate: number): number => rates.filter((other) => other === rate).length;
  const [sampleRate = 48_000] = rates.toSorted((a, b) => count(b) - count(a) || b - a);
  return sessionSchema.parse({
    format: 'tributary-session',
    version: 2,
    title: 'New song',
    sampleRate,
    tracks: [],
    groups: [],
  });
};
