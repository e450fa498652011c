import { decibelsOf } from '../audio/decibels.ts';
import { mostUsedRate } from '../audio/usual-rates.ts';
import { addGroup, addTrack, changeSong, setRough } from '../session/edits/edits.ts';
import { setLine } from '../session/lines/line-edits.ts';
import { takeAsReceived } from '../session/received-balance.ts';
import { LOUDEST_DB, SESSION_VERSION, sessionSchema, CLOSED_DB, type Session, type Track } from '../session/schema.ts';
import { OTHER_GROUP } from './file-names.ts';
import { levelPoints } from './level-points.ts';
import { inRough, type Received } from './received.ts';

/** Groups in the order in which a table of paths is read. */
const ORDER = ['Drums', 'Bass', 'Guitars', 'Keys', 'Strings', 'Brass', 'Vocals', 'Effects', OTHER_GROUP];

/** Left and right of a pair are hard to their sides, where a track of one channel gains 3.01 dB. */
const HARD_SIDE_DB = -decibelsOf(Math.SQRT2);

/** Pan and gain of one side of a pair. */
export const sideOfPair = (isLeft: boolean): Pick<Track, 'pan' | 'gainDb'> => ({
  pan: isLeft ? -1 : 1,
  gainDb: levelled(HARD_SIDE_DB),
});

const rounded = (value: number, per: number): number => Math.round(value * per) / per + 0;
const levelled = (db: number): number => Math.min(LOUDEST_DB, Math.max(CLOSED_DB, rounded(db, 1000)));

/** The place of a track: as the rough has it, else by its name. */
export const placeInSession = (received: Received, n: number): Partial<Track> => {
  const { tracks, pairs } = received;
  const start = tracks[n]!.startSeconds;
  const found = inRough(received, n);
  const rate = received.rough?.comparedAt ?? 1;
  if (found?.together) {
    // What cannot be told apart shares the level evenly.
    const share = found.together.gainDb + decibelsOf(1 / (1 + found.twins.length));
    return { gainDb: levelled(share), pan: rounded(found.together.pan, 10_000), offsetSeconds: start };
  }
  if (found && !found.isInRough && received.rough?.explained.lagSamples !== null)
    return { on: false, offsetSeconds: start };
  if (found && found.gainDb !== null) {
    return {
      gainDb: levelled(found.gainDb),
      pan: rounded(found.pan!, 10_000),
      ...(found.isSwapped ? { channels: 'swap' as const } : {}),
      polarity: found.polarity < 0 ? 'inverted' : 'normal',
      offsetSeconds: start + found.shiftSamples / rate,
    };
  }
  const pair = pairs.find(({ left, right }) => left === n || right === n);
  if (!pair) return { offsetSeconds: start };
  return { ...sideOfPair(pair.left === n), offsetSeconds: start };
};

/** Places of the tracks whose level moves in the rough. */
export const movingTracks = (received: Received): number[] =>
  received.tracks.flatMap((_, n) => ((inRough(received, n)?.levels.length ?? 0) > 1 ? [n] : []));

/** The session with a line of level for every track whose level moves in the rough; `ids` are the tracks as received. */
export const withRoughLines = (session: Session, received: Received, ids: readonly string[]): Session =>
  movingTracks(received).reduce(
    (made, n) =>
      setLine(made, {
        target: { of: ids[n]!, what: 'level' },
        unit: 'seconds',
        on: true,
        points: levelPoints(inRough(received, n)!.levels),
      }),
    session,
  );

/** What the session's notes say of what it could not take over. */
const notesOf = (received: Received, hasLines: boolean): string => {
  const { rough, tracks } = received;
  const lines = ['Made by intake.'];
  if (rough && rough.explained.lagSamples !== null) {
    lines.push('Levels and places of the tracks are those of the rough.');
    rough.explained.tracks.forEach(({ isInRough, levels, law }, n) => {
      const { name } = tracks[n]!.told;
      if (!isInRough) lines.push(`${name} is not in the rough, and is off.`);
      if (levels.length > 1) {
        const taken = hasLines ? 'a line of level follows it' : 'it has that of the longest stretch';
        lines.push(`The level of ${name} moves in the rough; ${taken}.`);
      }
      if (law === 'balance')
        lines.push(`${name} was balanced in the rough, not panned: here its far side is folded in.`);
    });
  }
  return lines.join('\n').slice(0, 20_000);
};

/**
 * A session of what was received: a track for each file, in groups by their names, at the levels and places of the rough.
 * These are its received balance too.
 *
 * @param title of the song
 * @param pathOf how the session calls a file, relative to where it stands
 * @param hasLines whether levels that move in the rough become lines
 * @param sampleRate Hz; without it the one that most files have
 */
export const sessionOf = (
  received: Received,
  title: string,
  pathOf: (file: string) => string,
  hasLines = false,
  sampleRate?: number,
): Session => {
  const { tracks, rough } = received;
  const groupOf = (n: number): string => tracks[n]!.told.group ?? OTHER_GROUP;
  const used = ORDER.filter((name) => tracks.some((_, n) => groupOf(n) === name));
  const empty = sessionSchema.parse({
    format: 'tributary-session',
    version: SESSION_VERSION,
    title: title.slice(0, 80) || 'New song',
    sampleRate: sampleRate ?? mostUsedRate(tracks.map((track) => track.sampleRate)),
    tracks: [],
    groups: [],
  });
  let session = used.reduce((made, name) => addGroup(made, name), empty);
  tracks.forEach(({ file, told }, n) => {
    const group = session.groups.find(({ name }) => name === groupOf(n))!.id;
    session = addTrack(session, { name: told.name, file: pathOf(file), group });
    const last = session.tracks.at(-1)!;
    session = { ...session, tracks: [...session.tracks.slice(0, -1), { ...last, ...placeInSession(received, n) }] };
  });
  if (rough) {
    const { lagSamples } = rough.explained;
    session = setRough(session, pathOf(rough.file), -(lagSamples ?? 0) / rough.comparedAt + 0);
  }
  const ids = session.tracks.map(({ id }) => id);
  const moving = takeAsReceived(withRoughLines(session, received, ids));
  session = hasLines ? moving : { ...moving, tracks: session.tracks, lines: [] };
  return changeSong(session, { notes: notesOf(received, hasLines) });
};
