import { requireConsistent, requireValid } from './edits/edit-tools.ts';
import type { Line } from './lines/line-schema.ts';
import { CLOSED_DB, receivedBalanceSchema, type ReceivedPlace, type Session, type Track } from './schema.ts';

// The balance that the song came in: level and pan of each track, which the mix as received is made of. It is apart from
// the tracks' own levels, so that what is held against it does not move with the engineer's hand.

/** Level (dB, or the points of its line) and pan of a track in the received balance. */
type Place = Omit<ReceivedPlace, 'track'>;

/** Of a track that the balance does not name. */
const PLAIN: Place = { gainDb: 0, pan: 0 };

/** Level and pan of a track in the received balance. */
export const receivedPlace = ({ receivedBalance }: Pick<Session, 'receivedBalance'>, track: string): Place =>
  receivedBalance.find((each) => each.track === track) ?? PLAIN;

/** Sets level and pan of these tracks in the received balance; the others stay. */
export const setReceived = (session: Session, places: readonly ReceivedPlace[]): Session => {
  const set = new Map(places.map((place) => [place.track, place]));
  const receivedBalance = [
    ...session.receivedBalance.filter(({ track }) => !set.has(track)),
    ...[...set.values()].filter(({ gainDb, pan, points }) => gainDb !== PLAIN.gainDb || pan !== PLAIN.pan || points),
  ];
  if (JSON.stringify(receivedBalance) === JSON.stringify(session.receivedBalance)) return session;
  requireValid(receivedBalanceSchema, receivedBalance, ['receivedBalance']);
  return requireConsistent({ ...session, receivedBalance });
};

/** Without the places of tracks that are neither in the mix nor in a pass. */
export const withoutLostReceived = (session: Session): Session => {
  const there = new Set([...session.tracks, ...session.passes.flatMap(({ tracks }) => tracks)].map(({ id }) => id));
  const receivedBalance = session.receivedBalance.filter(({ track }) => there.has(track));
  return receivedBalance.length === session.receivedBalance.length ? session : { ...session, receivedBalance };
};

/** How a track stands in the mix now, as a place in the received balance; one that is off is silent there, and its line in seconds is kept. */
const placeNow = ({ lines }: Pick<Session, 'lines'>, { id, on, gainDb, pan }: Track): ReceivedPlace => {
  const line = lines.find(({ target }) => target.of === id && target.what === 'level');
  const points = on && line?.on && line.unit === 'seconds' ? { points: line.points } : {};
  return { track: id, gainDb: on ? gainDb : CLOSED_DB, pan, ...points };
};

/** The lines that the mix as received follows. */
export const receivedLines = ({ receivedBalance }: Pick<Session, 'receivedBalance'>): Line[] =>
  receivedBalance.flatMap(({ track, points }) =>
    points
      ? [{ id: `received ${track}`, target: { of: track, what: 'level' }, unit: 'seconds', on: true, points }]
      : [],
  );

/** The levels and pans that the tracks (or these of them) have now, as the received balance. */
export const takeAsReceived = (session: Session, tracks?: readonly string[]): Session =>
  setReceived(
    session,
    session.tracks.filter(({ id }) => tracks?.includes(id) ?? true).map((track) => placeNow(session, track)),
  );

/** Whether every track stands in the mix as it does in the received balance. */
export const isAtReceived = (session: Session): boolean =>
  session.tracks.every((track) => {
    const [now, then] = [placeNow(session, track), receivedPlace(session, track.id)];
    const isSameLine = JSON.stringify(now.points) === JSON.stringify(then.points);
    return isSameLine && now.gainDb === then.gainDb && now.pan === then.pan;
  });
