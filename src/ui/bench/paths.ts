import { MIX } from '../../session/chain/chain-edits.ts';
import { setBlend, setFader, setTrim } from '../../session/edits/edits.ts';
import { downstreamOf, ROUGH } from '../../session/graph.ts';
import { levelLineOf } from '../../session/lines/level-lines.ts';
import { ProblemError } from '../../session/problem.ts';
import { CLOSED_DB } from '../../session/schema.ts';
import type { Bus, ChainItems, Send, Session, Track } from '../../session/schema.ts';
import { hueOf, huesFor } from '../shared/hue.ts';

/** A row of the path table: a group, a bus, or the mix bus; or, on the bench alone, a track or the rough as a source. */
export interface PathRow {
  readonly kind: 'group' | 'bus' | 'mix' | 'track' | 'rough';
  readonly id: string;
  readonly name: string;
  readonly on: boolean;
  readonly chain: ChainItems;
  /** Fader of a group, blend of a bus, trim in front of the mix bus chain, gain of a track, dB; 0 of the rough. */
  readonly levelDb: number;
  readonly sends: readonly Send[];
  readonly hue: string;
}

/** Rows by the group, bus or mix bus that they are of: what an edit left alone keeps its row, so nothing of it is drawn anew. */
const known = new WeakMap<object, PathRow>();

const rowOf = (of: object, hue: string, make: () => Omit<PathRow, 'hue'>): PathRow => {
  const before = known.get(of);
  if (before?.hue === hue) return before;
  const row = { ...make(), hue };
  known.set(of, row);
  return row;
};

export const groupRows = (session: Session): PathRow[] => {
  const hue = huesFor(session);
  return session.groups.map((group) =>
    rowOf(group, hue(group.id), () => ({ ...group, kind: 'group', levelDb: group.faderDb })),
  );
};

export const busRows = (session: Session): PathRow[] => {
  const hue = huesFor(session);
  return session.buses.map((bus) => rowOf(bus, hue(bus.id), () => ({ ...bus, kind: 'bus', levelDb: bus.blendDb })));
};

export const mixRow = ({ mixBus }: Session): PathRow =>
  rowOf(mixBus, 'var(--water)', () => ({
    kind: 'mix',
    id: MIX,
    name: 'Mix bus',
    on: true,
    chain: mixBus.chain,
    levelDb: mixBus.trimDb,
    sends: [],
  }));

/** A track in the colour of its group, or the rough; null: it is neither. */
const sourceRow = (session: Session, id: string): PathRow | null => {
  const track = session.tracks.find((candidate) => candidate.id === id);
  if (track) {
    const hue = hueOf(session, track.group);
    return rowOf(track, hue, () => ({ ...track, kind: 'track', levelDb: track.gainDb }));
  }
  const { rough } = session;
  if (id !== ROUGH || !rough) return null;
  return rowOf(rough, 'var(--ink-3)', () => ({
    ...{ kind: 'rough', id: ROUGH, name: 'Rough', on: true, levelDb: 0, chain: rough.chain, sends: rough.sends },
  }));
};

export const pathRow = (session: Session, id: string): PathRow => {
  const row =
    [...groupRows(session), ...busRows(session), mixRow(session)].find((candidate) => candidate.id === id) ??
    sourceRow(session, id);
  if (!row) throw new RangeError(`no path is called "${id}"`);
  return row;
};

/** What its level is called where it is set. */
export const LEVEL_NAMES: Readonly<Record<PathRow['kind'], string>> = {
  group: 'Fader',
  bus: 'Blend',
  mix: 'Trim',
  track: 'Gain',
  rough: 'Level',
};

/** The trim only stages the headroom: it cannot go to −∞. */
export const QUIETEST_TRIM_DB = -60;

/** A level that a line moves is moved with it: at −∞ all of the line would be closed, and its shape lost. */
const refuseClosing = (session: Session, { kind, id, name }: LevelRow, levelDb: number): void => {
  if (levelDb > CLOSED_DB || kind === 'mix' || !levelLineOf(session, id)) return;
  throw new ProblemError({
    code: 'mismatch',
    path: `The ${LEVEL_NAMES[kind].toLowerCase()} of ${name}`,
    expected: 'a level, as a line moves it along the song (mute the path, or give the line a point at −∞)',
    found: '−∞',
  });
};

type LevelRow = Pick<PathRow, 'kind' | 'id' | 'name'>;

/** The session with the level of a row moved. */
export const setLevel = (session: Session, row: LevelRow, levelDb: number): Session => {
  const { kind, id } = row;
  refuseClosing(session, row, levelDb);
  if (kind === 'group') return setFader(session, id, levelDb);
  return kind === 'bus' ? setBlend(session, id, levelDb) : setTrim(session, Math.max(QUIETEST_TRIM_DB, levelDb));
};

/** What feeds a bus: the groups and buses that send to it, in the order of the table, then tracks, then the rough. */
export interface Feeder {
  readonly id: string;
  readonly name: string;
  readonly hue: string;
  readonly send: Send;
}

/** What can send to a bus: groups, buses, tracks in the colour of their group, and the rough where there is one. */
interface Sender {
  readonly id: string;
  readonly name: string;
  readonly kind: 'group' | 'bus' | 'track' | 'rough';
  /** The path whose colour it has; null: none. */
  readonly path: string | null;
  readonly sends: readonly Send[];
}

const sendersIn = ({ rough, tracks, groups, buses }: Session): Sender[] => [
  ...groups.map(({ id, name, sends }): Sender => ({ id, name, kind: 'group', path: id, sends })),
  ...buses.map(({ id, name, sends }): Sender => ({ id, name, kind: 'bus', path: id, sends })),
  ...tracks.map(({ id, name, group, sends }): Sender => ({ id, name, kind: 'track', path: group, sends })),
  ...(rough ? [{ id: ROUGH, name: 'Rough', kind: 'rough' as const, path: null, sends: rough.sends }] : []),
];

export const feedersOf = (session: Session, bus: string): Feeder[] =>
  sendersIn(session).flatMap(({ id, name, path, sends }) =>
    sends
      .filter(({ to }) => to === bus)
      .map((send) => ({ id, name, hue: path === null ? 'var(--ink-3)' : hueOf(session, path), send })),
  );

/** What could be made to feed it as well, without sends running in a circle. */
export const possibleFeeders = (session: Session, bus: string): Pick<Sender, 'id' | 'name' | 'kind'>[] => {
  const reached = downstreamOf(session, bus);
  return sendersIn(session).filter(
    ({ id, sends }) => id !== bus && !reached.has(id) && !sends.some(({ to }) => to === bus),
  );
};

/** The buses that a track could be made to feed as well. */
export const possibleTargets = (session: Session, { id, sends }: Track): Bus[] =>
  session.buses.filter((bus) => !sends.some(({ to }) => to === bus.id) && !downstreamOf(session, bus.id).has(id));
