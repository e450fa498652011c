import { addGroup, addTrack, setRough } from '../../session/edits.ts';
import { filesOfPasses } from '../../session/passes.ts';
import { sessionSchema, type Session } from '../../session/schema.ts';
import { namedFiles } from '../../session/sound-files.ts';
import type { AudioFileFacts } from '../engine/engine.ts';
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
}

// Plain words for what is played, as files are usually named.
const FAMILIES: readonly (readonly [group: string, words: RegExp])[] = [
  ['Drums', /kick|snare|hat|tom|cymbal|ride|crash|drum|perc|shaker|clap|overhead|room|shell|\bbd\b|\bsd\b|\boh\b/],
  ['Bass', /bass|\bsub\b/],
  ['Guitars', /guitar|gtr/],
  ['Keys', /keys?|piano|organ|pad|synth|string|rhodes|clav/],
  ['Voice', /voice|vox|vocal|\bvoc|lead|backing|choir|sing/],
];

const familyOf = (name: string): string => FAMILIES.find(([, words]) => words.test(name))?.[0] ?? 'Other';

const isRoughName = (name: string): boolean => /rough|\bmix\b|demo mix|bounce|2-?mix/.test(name);

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

/**
 * A first guess where each file goes, from its name; the user has the last word. The first that is called a rough is
 * one, also in place of a rough that is there.
 */
export const guessPlacements = (session: Session | null, files: readonly AudioFileFacts[]): Placement[] => {
  let hasRough = false;
  return files.map((facts) => {
    const name = nameOf(facts.path).toLowerCase().replace(/_/g, ' ');
    if (!hasRough && isRoughName(name)) {
      hasRough = true;
      return { facts, target: { kind: 'rough' } };
    }
    const family = familyOf(name);
    const group = session?.groups.find((candidate) => candidate.name.toLowerCase() === family.toLowerCase());
    return { facts, target: group ? { kind: 'group', id: group.id } : { kind: 'new group', name: family } };
  });
};

/** Why these placements cannot be taken, as a sentence; null when they can. */
export const placementFault = (placements: readonly Placement[]): string | null => {
  const roughs = placements.filter(({ target }) => target.kind === 'rough').length;
  if (roughs > 1) return 'Only one file can be the rough: choose which.';
  return placements.every(({ target }) => target.kind === 'nowhere') ? 'Every file is left out.' : null;
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
    version: 1,
    title: 'New song',
    sampleRate,
    tracks: [],
    groups: [],
  });
};

/** Every file that the mix in hand names, and the rough; sounds that processors work with too. */
export const filesOf = (session: Session): string[] => [...new Set(namedFiles(session).map(({ file }) => file))];

/** The same, and files that only passes name: without them the song is whole, only those passes cannot be heard. */
export const allFilesOf = (session: Session): string[] => [
  ...new Set([...filesOf(session), ...filesOfPasses(session)]),
];
