import { requireConsistent, requireValid } from './edit-tools.ts';
import { CLOSED_DB, receivedBalanceSchema, type ReceivedPlace, type Session, type Track } from './schema.ts';

// The balance that the song came in: level and pan of each track, which the mix as received is made of. It is apart from
// the tracks' own levels, so that what is held against it does not move with the engineer's hand.

/** Level (dB) and pan of a track in the received balance. */
type Place = Pick<ReceivedPlace, 'gainDb' | 'pan'>;

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
    ...[...set.values()].filter(({ gainDb, pan }) => gainDb !== PLAIN.gainDb || pan !== PLAIN.pan),
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

/** How a track stands in the mix now, as a place in the received balance; one that is off is silent there. */
const placeNow = ({ id, on, gainDb, pan }: Track): ReceivedPlace => ({
  track: id,
  gainDb: on ? gainDb : CLOSED_DB,
  pan,
});

/** The levels and pans that the tracks (or these of them) have now, as the received balance. */
export const takeAsReceived = (session: Session, tracks?: readonly string[]): Session =>
  setReceived(session, session.tracks.filter(({ id }) => tracks?.includes(id) ?? true).map(placeNow));

/** Whether every track stands in the mix as it does in the received balance. */
export const isAtReceived = (session: Session): boolean =>
  session.tracks.every((track) => {
    const [now, then] = [placeNow(track), receivedPlace(session, track.id)];
    return now.gainDb === then.gainDb && now.pan === then.pan;
  });
