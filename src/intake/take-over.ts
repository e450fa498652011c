import { addProcessor, chainOf, setSetting } from '../session/chain-edits.ts';
import { changeMember } from '../session/edit-tools.ts';
import { changeTrack, setOn, setRough } from '../session/edits.ts';
import { CLOSED_DB, LOUDEST_DB, type Session, type Track } from '../session/schema.ts';
import type { Fix, Warning } from './checks/warning.ts';
import { placeInSession } from './make-session.ts';
import type { Received } from './received.ts';

/** The ids of a session's tracks, in the order in which they were received. */
type TrackIds = readonly string[];

/** Whether levels and places can be taken from the rough: it is these tracks. */
export const hasBalance = ({ rough }: Received): boolean => rough !== null && rough.explained.lagSamples !== null;

/** The session with levels, pans, polarity and starts of its tracks as the rough has them, and the rough where it lies. */
export const withRoughBalance = (session: Session, received: Received, ids: TrackIds): Session => {
  const { rough } = received;
  if (!rough || !hasBalance(received)) return session;
  const placed = ids.reduce((made, id, n) => changeMember(made, 'tracks', id, placeInSession(received, n)), session);
  return setRough(placed, rough.file, -rough.explained.lagSamples! / rough.comparedAt + 0);
};

const signed = (value: number, digits: number): string => `${value < 0 ? '−' : '+'}${Math.abs(value).toFixed(digits)}`;

/** What a fix does to the session, as a button says it; null: the session has no way to do it. */
export const fixWords = (fix: Fix): string | null => {
  switch (fix.kind) {
    case 'polarity':
      return 'Invert polarity';
    case 'offset':
      return `Start at ${signed(fix.seconds, 4)} s`;
    case 'gain':
      return `Gain ${signed(fix.db, 0)} dB`;
    case 'low cut':
      return `Low cut at ${fix.hz} Hz`;
    case 'leave out':
      return 'Mute the track';
    default:
      return null;
  }
};

const LOW_CUT = { on: true, shape: 'low cut', slope: '12 dB/oct' } as const;

const withLowCut = (session: Session, track: string, hz: number): Session => {
  const added = addProcessor(session, track, 'eq', 0);
  const item = chainOf(added, track)[0]!.id;
  const settings = { ...LOW_CUT, frequency: hz };
  return Object.entries(settings).reduce(
    (made, [field, value]) => setSetting(made, track, item, `band1.${field}`, value),
    added,
  );
};

/** The session with a fault of a track mended as data; as it was where it has no way to do it. */
export const withFix = (session: Session, track: string, fix: Fix): Session => {
  const { gainDb, polarity } = session.tracks.find(({ id }) => id === track)!;
  switch (fix.kind) {
    case 'polarity':
      return changeTrack(session, track, { polarity: polarity === 'normal' ? 'inverted' : 'normal' });
    case 'offset':
      return changeTrack(session, track, { offsetSeconds: fix.seconds });
    case 'gain':
      return changeTrack(session, track, { gainDb: Math.min(LOUDEST_DB, Math.max(CLOSED_DB, gainDb + fix.db)) });
    case 'low cut':
      return withLowCut(session, track, fix.hz);
    case 'leave out':
      return setOn(session, track, false);
    default:
      return session;
  }
};

/** What a fix changes of a track. */
const CHANGES = {
  polarity: 'polarity',
  offset: 'offsetSeconds',
  gain: 'gainDb',
  'low cut': 'chain',
  'leave out': 'on',
} as const satisfies Partial<Record<Fix['kind'], keyof Track>>;

/** True once what a fix would change of a track is not as it was when the file was checked, by that fix or otherwise. */
export const isChanged = (fix: Fix, track: string, checked: Session, now: Session): boolean => {
  const field = fix.kind in CHANGES ? CHANGES[fix.kind as keyof typeof CHANGES] : null;
  const valueIn = ({ tracks }: Session): string => JSON.stringify(tracks.find(({ id }) => id === track)?.[field!]);
  return field !== null && valueIn(now) !== valueIn(checked);
};

/** A fault that the session can mend, and that of which track. */
export interface Mendable {
  readonly track: string;
  readonly warning: Warning & { readonly fix: Fix };
}

/** Faults whose fix changes nothing but the fault. */
export const safelyMendable = ({ tracks }: Received, ids: TrackIds): readonly Mendable[] =>
  tracks.flatMap(({ warnings }, n) =>
    warnings.flatMap((warning) => {
      const { fix, isSafe } = warning;
      return fix && isSafe && fixWords(fix) !== null ? [{ track: ids[n]!, warning: { ...warning, fix } }] : [];
    }),
  );
