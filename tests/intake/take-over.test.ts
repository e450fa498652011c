import { beforeAll, expect, test } from 'vitest';
import type { Audio } from '../../src/audio/audio.ts';
import { sessionOf } from '../../src/intake/make-session.ts';
import type { Received } from '../../src/intake/received.ts';
import { balanceWords, fixWords, safelyMendable, withFix, withRoughBalance } from '../../src/intake/take-over.ts';
import type { Session } from '../../src/session/schema.ts';
import { multitrack, RATE, type MadeTrack } from './multitrack.ts';
import { incoming, receivedFrom } from './received-from.ts';
import { singles, sumOf, type Place } from './rough-of.ts';

// Truth is arithmetic: the rough is the sum of the tracks at these gains and places, 37 samples late.
const PLACES: readonly Place[] = [
  { gainDb: -3, pan: 0 },
  { gainDb: -9, pan: -0.5 },
  { gainDb: -6, pan: 0.4 },
  { gainDb: -12, pan: 0.2 },
];
const LATE = 37;

let tracks: MadeTrack[] = [];
let received: Received;
/** The song as it is opened in the app: every track at 0 dB, in the middle. */
let session: Session;

const late = (signal: Float32Array): Float32Array => {
  const out = new Float32Array(signal.length + LATE);
  out.set(signal, LATE);
  return out;
};

beforeAll(async () => {
  tracks = multitrack(PLACES.length, 12, 11);
  const rough: Audio = { sampleRate: RATE, channels: singles(sumOf(tracks, PLACES)).map(late) };
  const files = tracks.map(({ name, audio }) => incoming(`${name}.wav`, audio));
  received = await receivedFrom(files, incoming('rough.wav', rough));
  const plain = sessionOf({ ...received, rough: null }, 'Song', (file) => file);
  session = { ...plain, rough: { file: 'rough.wav', offsetSeconds: 0, chain: [], sends: [] } };
});

const ids = (): string[] => received.tracks.map(({ file }) => session.tracks.find((track) => track.file === file)!.id);

test('the balance of the rough is taken over: gains, pans, and where the rough lies; the rest of the session stays', () => {
  const taken = withRoughBalance(session, received, ids());
  PLACES.forEach(({ gainDb, pan }, n) => {
    const track = taken.tracks.find(({ id }) => id === ids()[n])!;
    expect(track.gainDb, track.name).toBeCloseTo(gainDb, 1);
    expect(Math.abs(track.pan - (tracks[n]!.audio.channels.length === 1 ? pan : track.pan))).toBeLessThan(0.02);
  });
  expect(taken.rough!.offsetSeconds * RATE).toBeCloseTo(-LATE, 1);
  expect(taken.groups).toBe(session.groups);
  expect(withRoughBalance(session, { ...received, rough: null }, ids())).toBe(session);
  expect(balanceWords(session, taken)).toBe(
    'It changes the gain of 4 (−12.0 to −3.0 dB) and the pan of 3 of the 4 tracks. The rough starts at −0.0008 s.',
  );
  expect(balanceWords(taken, taken)).toBe('The session has this balance already.');
});

test('fixes are data of the session, and what it has no way to do changes nothing', () => {
  const id = session.tracks[0]!.id;
  const fixed = (fix: Parameters<typeof withFix>[2]) => withFix(session, id, fix).tracks[0]!;
  expect(fixed({ kind: 'polarity' }).polarity).toBe('inverted');
  expect(fixed({ kind: 'offset', seconds: -0.25 }).offsetSeconds).toBe(-0.25);
  expect(fixed({ kind: 'gain', db: -3 }).gainDb).toBe(-3);
  expect(fixed({ kind: 'leave out' }).on).toBe(false);
  expect(fixed({ kind: 'low cut', hz: 10 }).chain[0]).toMatchObject({
    processor: 'eq',
    settings: { 'band1.on': true, 'band1.shape': 'low cut', 'band1.frequency': 10 },
  });
  expect(fixed({ kind: 'channels', mode: 'sum' }).channels).toBe('sum');
  expect(fixed({ kind: 'channel polarity' }).polarity).toBe('right inverted');
  const inverted = withFix(session, id, { kind: 'polarity' });
  expect(withFix(inverted, id, { kind: 'channel polarity' }).tracks[0]!.polarity).toBe('left inverted');
  const unknown = { kind: 'channel delay', samples: 11 } as const;
  expect(fixWords(unknown)).toBeNull();
  expect(withFix(session, id, unknown)).toBe(session);
});

test('only fixes that change nothing but the fault are called safe', async () => {
  const quiet: Audio = { sampleRate: RATE, channels: [new Float32Array(RATE)] };
  const shifted: Audio = {
    sampleRate: RATE,
    channels: tracks[0]!.audio.channels.map((side) => side.map((x) => 0.3 * x + 0.05)),
  };
  const found = await receivedFrom([incoming('silent.wav', quiet), incoming('offset.wav', shifted)]);
  const safe = safelyMendable(found, ['one', 'two']);
  expect(safe.map(({ track, warning }) => [track, warning.code])).toEqual([
    ['one', 'silent'],
    ['two', 'dc-offset'],
  ]);
});
