import { addProcessor, chainOf, replaceSettings } from '../session/chain/chain-edits.ts';
import { changeMember } from '../session/edits/edit-tools.ts';
import { changeTrack, setOn, setRough } from '../session/edits/edits.ts';
import { inARow } from '../session/problem.ts';
import { takeAsReceived } from '../session/received-balance.ts';
import { CLOSED_DB, LOUDEST_DB, type Session, type Track } from '../session/schema.ts';
import { lineOf, setLine } from '../session/lines/line-edits.ts';
import type { LinePoint } from '../session/lines/line-schema.ts';
import type { Fix, Warning } from './checks/warning.ts';
import { eqSettings, MOST_NOTCHES } from './fix-bands.ts';
import { placeInSession, withRoughLines } from './make-session.ts';
import type { Received } from './received.ts';
import { TURNED } from './turned.ts';

/** The ids of a session's tracks, in the order in which they were received. */
type TrackIds = readonly string[];

/** Whether levels and places can be taken from the rough: it is these tracks. */
export const hasBalance = ({ rough }: Received): boolean => rough !== null && rough.explained.lagSamples !== null;

/** Without the lines that would stand in for the level or the pan of these tracks. */
const withoutPlaceLines = (session: Session, ids: TrackIds): Session => {
  const stays = ({ target: { of, what } }: Session['lines'][number]): boolean =>
    !ids.includes(of) || (what !== 'level' && what !== 'pan');
  const lines = session.lines.filter(stays);
  return lines.length === session.lines.length ? session : { ...session, lines };
};

/**
 * The session with levels, pans, polarity and starts of its tracks as the rough has them, and the rough where it lies. The same levels
 * and pans become its received balance. With `hasLines`, levels that move in the rough become lines.
 */
export const withRoughBalance = (session: Session, received: Received, ids: TrackIds, hasLines = false): Session => {
  const { rough } = received;
  if (!rough || !hasBalance(received)) return session;
  const free = withoutPlaceLines(session, ids);
  const placed = ids.reduce((made, id, n) => changeMember(made, 'tracks', id, placeInSession(received, n)), free);
  const laid = setRough(placed, rough.file, -rough.explained.lagSamples! / rough.comparedAt + 0);
  // What the artist's levels do over time is a part of what was received, whether the engineer's own follow it or not.
  const moving = takeAsReceived(withRoughLines(laid, received, ids), ids);
  return hasLines ? moving : { ...moving, tracks: laid.tracks, lines: laid.lines };
};

const signed = (value: number, digits: number): string => `${value < 0 ? '−' : '+'}${Math.abs(value).toFixed(digits)}`;

const counted = (count: number, what: string): string[] => (count === 0 ? [] : [`${what} of ${count}`]);

/** What taking over a balance changes, in a sentence: of how many tracks what, and where the rough starts. */
export const balanceWords = (before: Session, after: Session): string => {
  const pairs = before.tracks.map((track, n) => [track, after.tracks[n]!] as const);
  const differing = (field: keyof Track): number => pairs.filter(([a, b]) => a[field] !== b[field]).length;
  const gains = pairs.filter(([a, b]) => a.gainDb !== b.gainDb).map(([, { gainDb }]) => gainDb);
  const span = gains.length === 0 ? '' : ` (${signed(Math.min(...gains), 1)} to ${signed(Math.max(...gains), 1)} dB)`;
  const muted = pairs.filter(([a, b]) => a.on && !b.on).map(([{ name }]) => name);
  const parts = [
    ...counted(gains.length, 'the gain').map((words) => `${words}${span}`),
    ...counted(differing('pan'), 'the pan'),
    ...counted(differing('polarity'), 'the polarity'),
    ...counted(differing('offsetSeconds'), 'the start'),
  ];
  const start = after.rough?.offsetSeconds;
  const sentences = [
    ...(parts.length > 0 ? [`It changes ${inARow(parts)} of the ${pairs.length} tracks.`] : []),
    ...(muted.length > 0 ? [`${inARow(muted)} ${muted.length === 1 ? 'is' : 'are'} muted.`] : []),
    ...(after.lines.length < before.lines.length ? ['Lines on the level or pan of tracks are taken out.'] : []),
    ...(JSON.stringify(after.receivedBalance) === JSON.stringify(before.receivedBalance)
      ? []
      : ['It becomes the received balance, to which Received and the guards refer.']),
    ...(start === undefined || start === before.rough?.offsetSeconds
      ? []
      : [`The rough starts at ${signed(start, 4)} s.`]),
  ];
  return sentences.length > 0 ? sentences.join(' ') : 'The session has this balance already.';
};

const CHANNEL_WORDS = {
  left: 'Use the left channel',
  right: 'Use the right channel',
  sum: 'Make it mono',
  swap: 'Swap the channels',
} as const;

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
    case 'notches':
      return fix.hz.length > MOST_NOTCHES ? null : `Notch ${inARow(fix.hz.map(String))} Hz`;
    case 'channels':
      return CHANNEL_WORDS[fix.mode];
    case 'channel polarity':
      return 'Invert the right channel';
    case 'leave out':
      return 'Mute the track';
    case 'channel delay':
      return `Start the right channel ${(1000 * Math.abs(fix.seconds)).toFixed(2)} ms ${fix.seconds < 0 ? 'earlier' : 'later'}`;
    case 'trim':
      return fix.to === null ? 'Fade in' : 'Fade out';
    default:
      return null;
  }
};

/** The session with an EQ before all else on a track. */
const withEq = (session: Session, track: string, fix: Fix): Session => {
  const added = addProcessor(session, track, 'eq', 0);
  // Without what a new EQ starts with: the fix is all that it does.
  return replaceSettings(added, track, chainOf(added, track)[0]!.id, eqSettings(fix)!);
};

/** The session with a track heard from or to a place in its file alone: a line on its switch, beside what stands on that already. */
const trimmed = (
  session: Session,
  { id, offsetSeconds, on }: Track,
  from: number | null,
  to: number | null,
): Session => {
  const target = { of: id, what: 'on' } as const;
  const points: readonly LinePoint[] = lineOf(session, target)?.points ?? [{ at: 0, value: on, curve: 'hold' }];
  const [start, end] = [from, to].map((seconds) => seconds !== null && Math.max(0, offsetSeconds + seconds));
  const switched = (at: number, value: LinePoint['value']): LinePoint => ({ at, value, curve: 'hold' });
  const headed = start
    ? [switched(0, false), switched(start, points[0]!.value), ...points.filter(({ at }) => at > start)]
    : points;
  const ended = end ? [...headed.filter(({ at }) => at < end), switched(end, false)] : headed;
  return setLine(session, { target, unit: 'seconds', on: true, points: [...ended] });
};

/** The session with a fault of a track mended as data; as it was where it has no way to do it. */
export const withFix = (session: Session, track: string, fix: Fix): Session => {
  const own = session.tracks.find(({ id }) => id === track)!;
  const { gainDb, polarity } = own;
  switch (fix.kind) {
    case 'polarity':
      return changeTrack(session, track, { polarity: TURNED[polarity].both });
    case 'channel polarity':
      return changeTrack(session, track, { polarity: TURNED[polarity].right });
    case 'channels':
      return changeTrack(session, track, { channels: fix.mode });
    case 'offset':
      return changeTrack(session, track, { offsetSeconds: fix.seconds });
    case 'gain':
      return changeTrack(session, track, { gainDb: Math.min(LOUDEST_DB, Math.max(CLOSED_DB, gainDb + fix.db)) });
    case 'low cut':
    case 'notches':
      return withEq(session, track, fix);
    case 'channel delay':
      return changeTrack(session, track, { rightOffsetSeconds: fix.seconds });
    case 'trim':
      return trimmed(session, own, fix.from, fix.to);
    case 'leave out':
      // What is no part of the song was no part of it when it came.
      return takeAsReceived(setOn(session, track, false), [track]);
    default:
      return session;
  }
};

/** What a fix changes of a track. */
const CHANGES = {
  polarity: 'polarity',
  'channel polarity': 'polarity',
  channels: 'channels',
  offset: 'offsetSeconds',
  gain: 'gainDb',
  'low cut': 'chain',
  notches: 'chain',
  'channel delay': 'rightOffsetSeconds',
  'leave out': 'on',
} as const satisfies Partial<Record<Fix['kind'], keyof Track>>;

/** True once what a fix would change of a track is not as it was when the file was checked, by that fix or otherwise. */
export const isChanged = (fix: Fix, track: string, checked: Session, now: Session): boolean => {
  if (fix.kind === 'trim') {
    const lineIn = (session: Session): string => JSON.stringify(lineOf(session, { of: track, what: 'on' }));
    return lineIn(now) !== lineIn(checked);
  }
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
