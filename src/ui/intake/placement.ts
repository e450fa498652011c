import { mostUsedRate } from '../../audio/usual-rates.ts';
import { songName } from '../../intake/song-name.ts';
import { isCalledMix, OTHER_GROUP, pairsAmong, roughAmong, fileNameParts } from '../../intake/file-names.ts';
import { sideOfPair } from '../../intake/make-session.ts';
import { addGroup, addTrack, changeTrack, setRough } from '../../session/edits/edits.ts';
import { takeAsReceived } from '../../session/received-balance.ts';
import { homeOf } from '../../session/roles.ts';
import { SESSION_VERSION, sessionSchema, type Session } from '../../session/schema.ts';
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

/** Names of groups by the stems of files that the user put there in earlier songs. */
export type RememberedGroups = ReadonlyMap<string, string>;

const stemOf = ({ path }: AudioFileFacts): string => fileNameParts(path).stem;

/**
 * A first guess where each file goes, from its name; the user has the last word. One that is called a rough is the
 * rough, also in place of a rough that is there; others that are called that are left out, and say so. Where the user has put such a
 * file before goes before what its name tells.
 */
export const guessPlacements = (
  session: Session | null,
  files: readonly AudioFileFacts[],
  remembered: RememberedGroups = new Map(),
): Placement[] => {
  const rough = roughAmong(files.map(({ path }) => path));
  return files.map((facts): Placement => {
    if (facts.path === rough) return { facts, target: { kind: 'rough' } };
    const told = fileNameParts(facts.path);
    const own = remembered.get(told.stem);
    if (own === undefined && rough !== null && isCalledMix(facts.path)) {
      const note = `Looks like a second rough mix; ${nameOf(rough)} is the rough.`;
      return { facts, target: { kind: 'nowhere' }, note };
    }
    const groups = session?.groups ?? [];
    const called = own ?? told.group ?? OTHER_GROUP;
    const home = own === undefined ? homeOf(told.name, groups) : undefined;
    const group = home ?? groups.find((each) => each.name.toLowerCase() === called.toLowerCase());
    return { facts, target: group ? { kind: 'group', id: group.id } : { kind: 'new group', name: called } };
  });
};

/** What is to be remembered of placements that are not as they were guessed: the groups of their files, by stem. */
export const learned = (
  session: Session | null,
  guessed: readonly Placement[],
  placements: readonly Placement[],
): readonly (readonly [stem: string, group: string])[] =>
  placements.flatMap(({ facts, target }, n) => {
    if (JSON.stringify(target) === JSON.stringify(guessed[n]!.target)) return [];
    const group =
      target.kind === 'new group'
        ? target.name
        : session?.groups.find((each) => target.kind === 'group' && each.id === target.id)?.name;
    return group === undefined ? [] : [[stemOf(facts), group] as const];
  });

/** Why these placements cannot be taken, as a sentence; null when they can. */
export const placementFault = (placements: readonly Placement[]): string | null => {
  const roughs = placements.filter(({ target }) => target.kind === 'rough').length;
  if (roughs > 1) return 'Only one file can be the rough: choose which.';
  return placements.every(({ target }) => target.kind === 'nowhere') ? 'No file is assigned.' : null;
};

const withTrack = (session: Session, { facts: { path }, target }: Placement): Session => {
  const { name } = fileNameParts(path);
  if (target.kind === 'nowhere') return session;
  if (target.kind === 'rough') return setRough(session, path);
  if (target.kind === 'group') return addTrack(session, { name, file: path, group: target.id });
  const isNamed = (group: { name: string }): boolean => group.name.toLowerCase() === target.name.trim().toLowerCase();
  const withGroup = session.groups.some(isNamed) ? session : addGroup(session, target.name);
  return addTrack(withGroup, { name, file: path, group: withGroup.groups.find(isNamed)!.id });
};

/** Two files that are the left and the right of one sound, each on its side. */
const withPairs = (session: Session, placements: readonly Placement[]): Session => {
  const files = placements
    .filter(({ target }) => target.kind === 'group' || target.kind === 'new group')
    .map(({ facts }) => ({ ...facts, told: fileNameParts(facts.path) }));
  const trackOf = (n: number): string => session.tracks.findLast(({ file }) => file === files[n]!.path)!.id;
  return pairsAmong(files).reduce((placed, pair) => {
    const [left, right] = [trackOf(pair.left), trackOf(pair.right)];
    const onSides = changeTrack(changeTrack(placed, left, sideOfPair(true)), right, sideOfPair(false));
    return takeAsReceived(onSides, [left, right]);
  }, session);
};

/** The session with the files in their places; new groups are made in the order in which they are first named. */
export const place = (session: Session, placements: readonly Placement[]): Session =>
  withPairs(placements.reduce(withTrack, session), placements);

/** What is to come in: all but what is left out. */
export const coming = (placements: readonly Placement[]): readonly AudioFileFacts[] =>
  placements.filter(({ target }) => target.kind !== 'nowhere').map(({ facts }) => facts);

/** The folders that all these files lie in, outermost first. */
const foldersOfAll = (paths: readonly string[]): readonly string[] => {
  const [first = [], ...others] = paths.map((path) => path.split('/').slice(0, -1));
  const apart = first.findIndex((name, n) => others.some((other) => other[n] !== name));
  return apart < 0 ? first : first.slice(0, apart);
};

/** An empty session, called as the folder is, at `sampleRate`, Hz; without it at the one that most of the files have. */
export const newSession = (
  files: readonly AudioFileFacts[],
  sampleRate = mostUsedRate(files.map((file) => file.sampleRate)),
): Session =>
  sessionSchema.parse({
    format: 'tributary-session',
    version: SESSION_VERSION,
    title: songName(foldersOfAll(files.map(({ path }) => path))) ?? 'New song',
    sampleRate,
    tracks: [],
    groups: [],
  });
