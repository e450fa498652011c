import type { BusSet, SetBus } from './bus-set.ts';
import { addBus, setKey, setSend } from './edits.ts';
import { presetByName } from './presets.ts';
import { feeds, type Feed } from './roles.ts';
import { CLOSED_DB, type ChainItems, type Group, type Session } from './schema.ts';

/** A bus of the set that the session can have, and the groups that feed it. */
export interface LaidBus {
  /** Its name in the session that was made: numbered where the set's own was taken. */
  readonly name: string;
  /** Its id in the session that was made. */
  readonly id: string;
  /** Names of the groups that feed it; none where only another bus of the set does. */
  readonly fedBy: readonly string[];
}

/** A bus of the set that the session has nothing for. */
export interface LeftOutBus {
  readonly name: string;
  /** "no group of kick or snare" */
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

const groupsFor = ({ groups }: Session, role: Feed): Group[] => groups.filter((group) => feeds(group, role));

const isFedByGroup = (session: Session, bus: SetBus): boolean =>
  bus.feeds.some(({ role }) => groupsFor(session, role).length > 0);

const hasKey = (session: Session, { key }: SetBus): boolean => key === null || groupsFor(session, key).length > 0;

/** The buses that get sound: from a group, or from one before them in the set that gets sound. */
const soundingBuses = (session: Session, buses: readonly SetBus[]): SetBus[] => {
  const sounding: SetBus[] = [];
  for (const bus of buses) {
    const isFed = isFedByGroup(session, bus) || sounding.some(({ sends }) => sends.some(({ to }) => to === bus.name));
    if (isFed && hasKey(session, bus)) sounding.push(bus);
  }
  return sounding;
};

const reasonFor = (session: Session, bus: SetBus, buses: readonly SetBus[]): string => {
  if (!hasKey(session, bus)) return `no group of ${bus.key} to steer it`;
  if (bus.feeds.length > 0) return `no group of ${anyOf(bus.feeds.map(({ role }) => role))}`;
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

/** Adds sends to `bus` from the groups of the session; a group with two of the roles gets one send, for the first. */
const fedByGroups = (session: Session, bus: SetBus, id: string): Session =>
  bus.feeds.reduce(
    (fed, { role, levelDb, tap }) =>
      groupsFor(session, role).reduce(
        (edited, group) =>
          edited.groups.find((one) => one.id === group.id)!.sends.some(({ to }) => to === id)
            ? edited
            : setSend(edited, group.id, id, { levelDb, tap }),
        fed,
      ),
    session,
  );

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
 * Adds the buses of a set to a session: new buses at the end, and new sends to them. Groups, tracks and old buses keep
 * their sound. A bus for which the session has no source is left out, and listed with the reason.
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
    edited = fedByGroups(edited, bus, id);
    for (const { to, levelDb, tap } of bus.sends)
      if (ids.has(to)) edited = setSend(edited, id, ids.get(to)!, { levelDb, tap });
    if (bus.key !== null) edited = setKey(edited, id, groupsFor(session, bus.key)[0]!.id);
  }
  const fedBy = (id: string): string[] =>
    edited.groups.filter(({ sends }) => sends.some(({ to }) => to === id)).map(({ name }) => name);
  return {
    session: edited,
    laid: edited.buses.slice(session.buses.length).map(({ name, id }) => ({ name, id, fedBy: fedBy(id) })),
    leftOut: buses
      .filter((bus) => !sounding.includes(bus))
      .map((bus) => ({ name: bus.name, reason: reasonFor(session, bus, buses) })),
  };
};
