import { changeMember, put, requireConsistent } from './edit-tools.ts';
import { nameList } from '../name-list.ts';
import type { Bus, Group, Send, Session, Track } from '../schema.ts';

const groupOf = ({ groups }: Session, id: string): Group | undefined => groups.find((group) => group.id === id);
const holds = ({ tracks }: Session, group: string): boolean => tracks.some((track) => track.group === group);
const places = (sends: readonly Send[]): string[] => sends.map(({ to }) => to);

/** `group` with the sends of `from` to all that it does not feed itself. */
const withFeeds = (session: Session, group: Group, from: Group): Session => {
  const added = from.sends.filter(({ to }) => !places(group.sends).includes(to));
  return added.length === 0
    ? session
    : changeMember(session, 'groups', group.id, { sends: [...group.sends, ...added] });
};

/** What has `from` as its key input gets `to`. */
const withKeys = (session: Session, from: string, to: string): Session => {
  // What is itself in the group that is now the key cannot follow it.
  const stays = ({ id }: Track | Group | Bus): boolean =>
    id === to || session.tracks.some((track) => track.id === id && track.group === to);
  const keyed = <T extends Track | Group | Bus>(path: T): T =>
    path.key === from && !stays(path) ? { ...path, key: to } : path;
  const { tracks, groups, buses } = session;
  return put(session, { tracks: tracks.map(keyed), groups: groups.map(keyed), buses: buses.map(keyed) });
};

/**
 * Puts a track into another group. A group that holds no track yet, or is still being filled (`keepsFeeds`), gets the
 * sends of the group that the track comes from; once that one is empty, the new one is the key input where it was.
 */
export const moveTrack = (session: Session, track: string, group: string, keepsFeeds = false): Session => {
  const from = session.tracks.find(({ id }) => id === track)?.group;
  const moved = changeMember(session, 'tracks', track, { group });
  const [old, target] = [from === undefined ? undefined : groupOf(session, from), groupOf(session, group)];
  const isFilled = target !== undefined && (keepsFeeds || !holds(session, group));
  if (!old || !isFilled || old === target) return requireConsistent(moved);
  const fed = withFeeds(moved, target, old);
  return requireConsistent(holds(fed, old.id) || target.key !== null ? fed : withKeys(fed, old.id, group));
};

/**
 * Sentence on what moving a track changes: the buses that its group now feeds or keys, and those it no longer does;
 * null if neither group feeds or keys any.
 */
export const moveWords = (before: Session, after: Session, track: string): string | null => {
  const homeOf = (session: Session): Group | undefined => {
    const { group } = session.tracks.find(({ id }) => id === track)!;
    return groupOf(session, group);
  };
  const [old, now] = [homeOf(before), homeOf(after)];
  if (!old || !now || old.id === now.id) return null;
  const { name } = after.tracks.find(({ id }) => id === track)!;
  const [fedOld, fedNow] = [places(old.sends), places(now.sends)];
  const fedThen = places(groupOf(before, now.id)?.sends ?? []);
  const paths = [...after.tracks, ...after.groups, ...after.buses];
  const named = (ids: readonly string[]): string[] =>
    paths.filter(({ id }) => ids.includes(id)).map((path) => path.name);
  const keyedBy = (session: Session, id: string): string[] =>
    [...session.tracks, ...session.groups, ...session.buses].filter(({ key }) => key === id).map((path) => path.id);
  const keyed = keyedBy(before, old.id);
  const keys = keyedBy(after, now.id);
  const changes = [
    [`${now.name} now feeds`, fedNow.filter((to) => !fedThen.includes(to)), `, as ${old.name} does`],
    [`${name} still feeds`, fedThen.filter((to) => fedOld.includes(to) && fedNow.includes(to)), ''],
    [`${now.name} is now the key input of`, keyed.filter((id) => keys.includes(id)), ''],
    [`${name} no longer feeds`, fedOld.filter((to) => !fedNow.includes(to)), ''],
    [`${name} now also feeds`, fedThen.filter((to) => !fedOld.includes(to)), ''],
    [`${name} no longer keys`, keyed.filter((id) => !keys.includes(id) && id !== now.id), ''],
  ] as const;
  const parts = changes.flatMap(([words, ids, end]) =>
    ids.length === 0 ? [] : [`${words} ${nameList(named(ids))}${end}`],
  );
  return parts.length === 0 ? null : `${name} was moved to ${now.name}: ${parts.join('; ')}.`;
};
