import { CLOSED_DB } from '../../dsp/core/fader-gain.ts';
import type { Json } from './tools.ts';

const placeOf = ({ id, on, gainDb = 0, pan = 0 }: Json): Json => ({
  track: id,
  gainDb: on === false ? CLOSED_DB : gainDb,
  pan,
});

const isPlain = ({ gainDb, pan }: Json): boolean => gainDb === 0 && pan === 0;

/**
 * A session that says nothing of its received balance was received as its tracks stand in it: levels, pans, and those that are off
 * are silent. So what its guards refer to is what it was before there was such a balance.
 */
export const withReceivedBalance = (session: Json): Json => {
  const { tracks, receivedBalance } = session;
  if (receivedBalance !== undefined || !Array.isArray(tracks)) return session;
  const known = tracks.filter(
    (track): track is Json => typeof track === 'object' && track !== null && typeof (track as Json).id === 'string',
  );
  return { ...session, receivedBalance: known.map(placeOf).filter((place) => !isPlain(place)) };
};
