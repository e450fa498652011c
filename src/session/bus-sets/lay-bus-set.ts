import type { BusSet, SetBus } from './bus-set.ts';
import { addBus, setKey, setSend } from '../edits/edits.ts';
import { presetByName } from '../presets/presets.ts';
import { feeds, type Feed } from '../roles.ts';
import { CLOSED_DB, type ChainItems, type Group, type Session, type Track } from '../schema.ts';

/** A bus of the set that the session can have, and the groups and tracks that feed it. */
export interface LaidBus {
  /** Its name in the session that was made: numbered where the set's own was taken. */
  readonly name: string;
  /** Its id in the session that was made. */
  readonly id: string;
  /** Names of the groups and tracks that feed it; none where only another bus of the set does. */
  readonly fedBy: readonly string[];
}

/** A bus of the set that the session has nothing for. */
export interface LeftOutBus {
  readonly name: string;
  /** "no group or track of kick or snare" */
  readonly reason: string;
}

export interface LaidBusSet {
  readonly session: Session;
  readonly laid: readonly LaidBus[];
  readonly leftOut: readonly LeftOutBus[];
}

const anyOf = (roles: readonly Feed[]): string => {
  const all = [...new Set(roles)];
  return all.length < 2 ? all.join('') : `${all.slice(0, -1).join(', ')} or ${all.at(-1)}`;
};

/** What plays a role: the groups that do, else the tracks that do by their own names, as the kick in one group of drums. */
const playersOf = ({ tracks, groups }: Session, role: Feed): readonly (Group | Track)[] => {
  const playing = groups.filter((group) => feeds(group, role));
  return playing.length > 0 ? playing : tracks.filter(({ name }) => feeds({ name, vocal: false }, role));
};

const isFedByPlayers = (session: Session, bus: SetBus): boolean =>
  bus.feeds.some(({ role }) => playersOf(session, role).length > 0);

const hasKey = (session: Session, { key }: SetBus): boolean => key === null || playersOf(session, key).length > 0;

/** The buses that get sound: from a group or a track, or from one before them in the set that gets sound. */
const soundingBuses = (session: Session, buses: readonly SetBus[]): SetBus[] => {
  const sounding: SetBus[] = [];
  for (const bus of buses) {
    const isFed = isFedByPlayers(session, bus) || sounding.some(({ sends }) => sends.some(({ to }) => to === bus.name));
    if (isFed && hasKey(session, bus)) sounding.push(bus);
  }
  return sounding;
};

const reasonFor = (session: Session, bus: SetBus, buses: readonly SetBus[]): string => {
  if (!hasKey(session, bus)) return `no group or track of ${bus.key} to steer it`;
  if (bus.feeds.length > 0) return `no group or track of ${anyOf(bus.feeds.map(({ role }) => role))}`;
  const senders = buses.filter(({ sends }) => sends.some(({ to }) => to === bus.name)).map(({ name }) => name);
  return `nothing feeds it without ${senders.join(' or ')}`;
};

/** The chain of a bus. Throws RangeError for an unknown preset: sets are checked when they are read. */
const chainOf = ({ chain }: SetBus): ChainItems => {
  if (typeof chain !== 'string') return chain;
  const preset = presetByName(chain);
  if (!preset) throw new RangeError(`no preset is called "${chain}"`);
  return preset.chain;
};

/**
 * Adds sends to `bus` from what plays its roles; what plays two of them gets one send, for the first, and a track whose group
 * is in the bus already gets none.
 */
const fedByPlayers = (session: Session, bus: SetBus, id: string): Session => {
  const feedsAlready = ({ tracks, groups }: Session, player: Group | Track): boolean => {
    const ids = 'group' in player ? [player.id, player.group] : [player.id];
    return [...tracks, ...groups].some((each) => ids.includes(each.id) && each.sends.some(({ to }) => to === id));
  };
  return bus.feeds
    .flatMap((feed) => playersOf(session, feed.role).map((player) => ({ ...feed, player })))
    .sort((a, b) => Number('group' in a.player) - Number('group' in b.player))
    .reduce(
      (fed, { player, levelDb, tap }) =>
        feedsAlready(fed, player) ? fed : setSend(fed, player.id, id, { levelDb, tap }),
      session,
    );
};

/** Options for adding a bus set. */
export interface Laying {
  /** Blends lower than the set says by this, dB; 0 unless given. */
  readonly lowerDb?: number;
}

const lowered = (blendDb: number, lowerDb: number): number => Math.max(CLOSED_DB, blendDb - lowerDb);

/** A name that no group or bus of the session has: numbered where it is taken ("Drum squeeze 2"). */
const freeName = ({ groups, buses }: Session, name: string): string => {
  const taken = new Set([...groups, ...buses].map((path) => path.name.trim().toLowerCase()));
  const isFree = (candidate: string): boolean => !taken.has(candidate.toLowerCase());
  let candidate = name;
  for (let n = 2; !isFree(candidate); n++) candidate = `${name} ${n}`;
  return candidate;
};

/**
 * Adds the buses of a set to a session: new buses at the end, and new sends to them from groups, and from tracks where no group
 * plays a role. All that was there keeps its sound. A bus for which the session has no source is left out, and listed with the reason.
 * @throws ProblemError when the session has no room for so many buses
 */
export const layBusSet = (session: Session, { buses }: BusSet, { lowerDb = 0 }: Laying = {}): LaidBusSet => {
  const sounding = soundingBuses(session, buses);
  const ids = new Map<string, string>();
  let edited = session;
  for (const bus of sounding) {
    edited = addBus(edited, {
      name: freeName(edited, bus.name),
      chain: chainOf(bus),
      blendDb: lowered(bus.blendDb, lowerDb),
    });
    ids.set(bus.name, edited.buses.at(-1)!.id);
  }
  for (const bus of sounding) {
    const id = ids.get(bus.name)!;
    edited = fedByPlayers(edited, bus, id);
    for (const { to, levelDb, tap } of bus.sends)
      if (ids.has(to)) edited = setSend(edited, id, ids.get(to)!, { levelDb, tap });
    if (bus.key !== null) edited = setKey(edited, id, playersOf(session, bus.key)[0]!.id);
  }
  const fedBy = (id: string): string[] =>
    [...edited.groups, ...edited.tracks]
      .filter(({ sends }) => sends.some(({ to }) => to === id))
      .map(({ name }) => name);
  return {
    session: edited,
    laid: edited.buses.slice(session.buses.length).map(({ name, id }) => ({ name, id, fedBy: fedBy(id) })),
    leftOut: buses
      .filter((bus) => !sounding.includes(bus))
      .map((bus) => ({ name: bus.name, reason: reasonFor(session, bus, buses) })),
  };
};
