import { changeMember, listOf, put, requireConsistent, requireValid, takenIds } from './edit-tools.ts';
import { ROUGH } from '../graph.ts';
import { nextHue } from '../hues.ts';
import { freeId, idFrom, RESERVED_IDS, withItemIds } from '../ids.ts';
import { withLevelLineAt } from '../lines/level-lines.ts';
import { withSwitchLine } from '../lines/switch-lines.ts';
import { withoutLostLines } from '../lines/lost-lines.ts';
import { setReceived, withoutLostReceived } from '../received-balance.ts';
import { isSungByName } from '../roles.ts';
import { TempoMap } from '../tempo-map.ts';
import {
  busSchema,
  groupSchema,
  sendSchema,
  sendsSchema,
  sessionSchema,
  trackSchema,
  type Bus,
  type ChainItems,
  type Group,
  type Section,
  type Send,
  type Session,
  type Track,
} from '../schema.ts';

// Every edit is a pure function: a session in, a new one out that shares all that did not change (the same session when
// nothing did). An edit that would make an invalid session throws ProblemError; naming what is not there, RangeError.

const newId = (session: Session, name: string): string =>
  freeId(idFrom(name), new Set([...takenIds(session), ...RESERVED_IDS]));

/** Switches a track, group or bus on or off, for the whole song. */
export const setOn = (session: Session, id: string, on: boolean): Session => {
  const switched = changeMember(session, listOf(session, id), id, { on });
  return switched === session ? session : withSwitchLine(switched, { of: id, what: 'on' }, on);
};

/** Gives a track, group or bus another name; its id stays. */
export const rename = (session: Session, id: string, name: string): Session =>
  changeMember(session, listOf(session, id), id, { name: name.trim() });

/** Blend of a bus, dB; a line of it moves along. */
export const setBlend = (session: Session, bus: string, blendDb: number): Session =>
  withLevelLineAt(changeMember(session, 'buses', bus, { blendDb }), bus, blendDb);

/** Fader of a group, dB; a line of it moves along. */
export const setFader = (session: Session, group: string, faderDb: number): Session =>
  withLevelLineAt(changeMember(session, 'groups', group, { faderDb }), group, faderDb);

/** Trim before the mix bus chain, dB. */
export const setTrim = (session: Session, trimDb: number): Session => {
  requireValid(sessionSchema.shape.mixBus.def.innerType.shape.trimDb, trimDb, ['mixBus', 'trimDb']);
  return put(session, { mixBus: put(session.mixBus, { trimDb }) });
};

/** Marks a group as vocal (sung or spoken): left out of an instrumental print, and alone in an a cappella print. */
export const setVocal = (session: Session, group: string, vocal: boolean): Session =>
  changeMember(session, 'groups', group, { vocal });

/** Key input of a track, group or bus: the id of another one; null: none. */
export const setKey = (session: Session, owner: string, key: string | null): Session =>
  requireConsistent(changeMember(session, listOf(session, owner), owner, { key }));

/** Whether a group or bus is heard in place too while something else is soloed. */
export const setSoloSafe = (session: Session, path: string, soloSafe: boolean): Session => {
  const list = listOf(session, path);
  if (list === 'tracks') throw new RangeError('a track cannot be solo-safe');
  return changeMember(session, list, path, { soloSafe });
};

/** Adds a bus at the end; its id comes from its name. */
export const addBus = (
  session: Session,
  { name, chain = [], blendDb = 0 }: { name: string; chain?: ChainItems; blendDb?: number },
): Session => {
  const bus: Bus = {
    ...busSchema.parse({ id: newId(session, name), name: 'new' }),
    name: name.trim(),
    hue: nextHue(session),
    chain: withItemIds(chain),
    blendDb,
  };
  return requireConsistent({ ...session, buses: [...session.buses, bus] });
};

/** Takes a bus out, and with it the sends that feed it and the keys that listen to it. */
export const removeBus = (session: Session, bus: string): Session => {
  const { rough, tracks, groups, buses } = withoutKey(session, bus);
  const unfed = <T extends { readonly sends: Send[] }>(from: T): T =>
    from.sends.some(({ to }) => to === bus) ? { ...from, sends: from.sends.filter(({ to }) => to !== bus) } : from;
  return withoutLostLines({
    ...session,
    rough: rough && unfed(rough),
    tracks: tracks.map(unfed),
    groups: groups.map(unfed),
    buses: buses.filter(({ id }) => id !== bus).map(unfed),
  });
};

const withoutKey = (session: Session, id: string): Session => {
  const unkeyed = <T extends Track | Group | Bus>(member: T): T =>
    member.key === id ? { ...member, key: null } : member;
  const { tracks, groups, buses } = session;
  return { ...session, tracks: tracks.map(unkeyed), groups: groups.map(unkeyed), buses: buses.map(unkeyed) };
};

const sendsFrom = (session: Session, from: string): readonly Send[] => {
  if (from !== ROUGH) return session[listOf(session, from)].find(({ id }) => id === from)!.sends;
  if (!session.rough) throw new RangeError('the session has no rough');
  return session.rough.sends;
};

const withSends = (session: Session, from: string, sends: Send[]): Session => {
  if (from !== ROUGH) return changeMember(session, listOf(session, from), from, { sends });
  requireValid(sendsSchema, sends, ['rough', 'sends']);
  return put(session, { rough: session.rough && { ...session.rough, sends } });
};

/** Changes the send from a track, group, bus or the rough to a bus; where there is none yet, adds it (0 dB, post-fader, on). */
export const setSend = (
  session: Session,
  from: string,
  to: string,
  fields: Partial<Omit<Send, 'to'>> = {},
): Session => {
  const sends = sendsFrom(session, from);
  const at = sends.findIndex((send) => send.to === to);
  const old = sends[at];
  if (!old) {
    const send = { ...sendSchema.parse({ to }), ...fields };
    return requireConsistent(withSends(session, from, [...sends, send]));
  }
  const send = put(old, fields);
  return send === old ? session : withSends(session, from, sends.with(at, send));
};

/** Takes the send from a track, group, bus or the rough to a bus out. */
export const removeSend = (session: Session, from: string, to: string): Session => {
  const sends = sendsFrom(session, from);
  const others = sends.filter((send) => send.to !== to);
  return others.length === sends.length ? session : withoutLostLines(withSends(session, from, others));
};

/** Gain (dB), pan, channel mode, polarity, start (seconds), that of the right channel against the left, or file of a track. */
export const changeTrack = (
  session: Session,
  track: string,
  fields: Partial<
    Pick<Track, 'gainDb' | 'pan' | 'channels' | 'polarity' | 'offsetSeconds' | 'rightOffsetSeconds' | 'file'>
  >,
): Session => changeMember(session, 'tracks', track, fields);

/** Adds a track at the end; its id comes from its name, its file is relative to the session file. It is received at 0 dB, in the middle. */
export const addTrack = (session: Session, { name, file, group }: Pick<Track, 'name' | 'file' | 'group'>): Session => {
  const track = trackSchema.parse({ id: newId(session, name), name: 'new', file: 'new', group: 'new' });
  // A track that only a pass still has may have had this id.
  const plain = setReceived(session, [{ track: track.id, gainDb: 0, pan: 0 }]);
  return requireConsistent({ ...plain, tracks: [...session.tracks, { ...track, name: name.trim(), file, group }] });
};

/** Takes a track out, and the keys that listen to it. */
export const removeTrack = (session: Session, track: string): Session => {
  const unkeyed = withoutKey(session, track);
  const tracks = unkeyed.tracks.filter(({ id }) => id !== track);
  return withoutLostReceived(withoutLostLines({ ...unkeyed, tracks }));
};

/** Adds an empty group at the end; its id comes from its name, and so does whether it is sung. */
export const addGroup = (session: Session, name: string): Session => {
  const group: Group = {
    ...groupSchema.parse({ id: newId(session, name), name: 'new' }),
    name: name.trim(),
    hue: nextHue(session),
    vocal: isSungByName(name),
  };
  return requireConsistent({ ...session, groups: [...session.groups, group] });
};

/** Takes a group out, and the keys that listen to it; refused while tracks are in it. */
export const removeGroup = (session: Session, group: string): Session => {
  const unkeyed = withoutKey(session, group);
  const groups = unkeyed.groups.filter(({ id }) => id !== group);
  return requireConsistent(withoutLostLines({ ...unkeyed, groups }));
};

/** The rough mix as received, and where it starts in the song; null: there is none. */
export const setRough = (session: Session, file: string | null, offsetSeconds = 0): Session => {
  const { chain = [], sends = [] } = session.rough ?? {};
  const rough = file === null ? null : { file, offsetSeconds, chain, sends };
  requireValid(sessionSchema.shape.rough, rough, ['rough']);
  return put(session, { rough });
};

/** Tempo in quarter notes a minute. */
export const setTempo = (session: Session, tempo: number): Session => changeSong(session, { tempo });

/** What holds for the whole song: title, artist, notes, tempo, meter, pan law. */
export const changeSong = (
  session: Session,
  fields: Partial<Pick<Session, 'title' | 'artist' | 'notes' | 'tempo' | 'meter' | 'panLaw'>>,
): Session => {
  for (const [name, value] of Object.entries(fields)) {
    requireValid(sessionSchema.shape[name as keyof typeof fields], value, [name]);
  }
  return put(session, fields);
};

/** The rate that the song is rendered at, Hz; everything else of it is in seconds and stays. */
export const setSampleRate = (session: Session, sampleRate: number): Session => {
  requireValid(sessionSchema.shape.sampleRate, sampleRate, ['sampleRate']);
  return requireConsistent(put(session, { sampleRate }));
};

/** Changes of tempo and meter along the song. Lines in bars, and times that are note values, follow them; sections stay where they are. */
export const setTempoMap = (
  session: Session,
  changes: Partial<Pick<Session, 'tempoChanges' | 'meterChanges'>>,
): Session => requireConsistent({ ...session, ...changes });

/** A section from the beginning of one bar to that of another (1 is the first). */
export const sectionOfBars = (session: Session, name: string, from: number, to: number): Section => {
  const map = new TempoMap(session);
  return { name, startSeconds: map.secondsAt(from), endSeconds: map.secondsAt(to) };
};

/** The sections of the song, in the order of their starts. */
export const setSections = (session: Session, sections: readonly Section[]): Session =>
  requireConsistent({ ...session, sections: [...sections].sort((a, b) => a.startSeconds - b.startSeconds) });
