import { beforeAll, expect, test } from 'vitest';
import type { Audio } from '../../src/audio/audio.ts';
import { sessionOf } from '../../src/intake/make-session.ts';
import type { Received } from '../../src/intake/received.ts';
import { balanceWords, fixWords, safelyMendable, withFix, withRoughBalance } from '../../src/intake/take-over.ts';
import { songName } from '../../src/intake/song-name.ts';
import { leftoverMix } from '../../src/intake/leftover-mix.ts';
import { renderDirect } from '../../src/render/direct.ts';
import { gainsOf, sumPaths } from '../../src/render/mix.ts';
import { planned } from '../helpers/sessions.ts';
import { asReceived } from '../../src/render/plan/make-plan.ts';
import { changeTrack, setOn } from '../../src/session/edits/edits.ts';
import { isAtReceived } from '../../src/session/received-balance.ts';
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
  // What guards refer to is this balance, and stays so when the engineer moves a track.
  expect(isAtReceived(taken)).toBe(true);
  const moved = changeTrack(taken, ids()[0]!, { gainDb: -20, pan: 1 });
  expect(asReceived(moved).tracks).toEqual(asReceived(taken).tracks);
  expect(taken.groups).toBe(session.groups);
  expect(withRoughBalance(session, { ...received, rough: null }, ids())).toBe(session);
  expect(balanceWords(session, taken)).toBe(
    'It changes the gain of 4 (−12.0 to −3.0 dB) and the pan of 3 of the 4 tracks. It becomes the received balance, to which Received and the guards refer. The rough starts at −0.0008 s.',
  );
  expect(balanceWords(taken, taken)).toBe('The session has this balance already.');
});

test('what the tracks leave of the rough can be heard: of a rough that is nothing but them, nothing; of one with more, that', async () => {
  const level = async (rough: Audio): Promise<number> => {
    const sounds = { ...Object.fromEntries(ids().map((id, n) => [id, tracks[n]!.audio])), rough };
    const { plan, sources } = planned(leftoverMix(session, received, ids()), sounds);
    const { channels } = sumPaths(await renderDirect(plan, sources), gainsOf(plan));
    const energy = (sides: readonly Float32Array[]): number =>
      sides.reduce((sum, side) => side.subarray(0, 12 * RATE).reduce((all, x) => all + x * x, sum), 0);
    return 10 * Math.log10(energy(channels) / energy(rough.channels));
  };
  const rough: Audio = { sampleRate: RATE, channels: singles(sumOf(tracks, PLACES)).map(late) };
  expect(await level(rough)).toBeLessThan(-60);
  // A tone of the power of a hundredth of the rough's is left 20 dB below it.
  const power =
    rough.channels.flatMap((side) => [...side]).reduce((sum, x) => sum + x * x, 0) / (2 * rough.channels[0]!.length);
  const gain = Math.sqrt(2 * power * 0.01);
  const more = rough.channels.map((side) => side.map((x, n) => x + gain * Math.sin((2 * Math.PI * 997 * n) / RATE)));
  expect(await level({ sampleRate: RATE, channels: more })).toBeCloseTo(-20, 0);
});

test('levels that move in the rough become lines with a point for each stretch, and lines that were there give way', () => {
  const [first] = ids();
  const levels = [
    { startSeconds: 0, endSeconds: 5, gainDb: -3 },
    { startSeconds: 5, endSeconds: 12, gainDb: -7.5 },
  ];
  const { rough } = received;
  const found = rough!.explained.tracks.map((track, n) => (n === 0 ? { ...track, levels } : track));
  const moving = { ...received, rough: { ...rough!, explained: { ...rough!.explained, tracks: found } } };
  const taken = withRoughBalance(session, moving, ids(), true);
  expect(taken.lines).toMatchObject([{ target: { of: first, what: 'level' }, on: true, unit: 'seconds' }]);
  expect(taken.lines[0]!.points).toEqual([
    { at: 0, value: -3, curve: 'hold' },
    { at: 5, value: -7.5, curve: 'hold' },
  ]);
  // Without lines of its own the mix as received follows the artist's all the same.
  const still = withRoughBalance(taken, moving, ids());
  expect(still.lines).toEqual([]);
  expect(asReceived(still).lines).toMatchObject([
    { target: { of: first, what: 'level' }, points: taken.lines[0]!.points },
  ]);
  expect([isAtReceived(still), isAtReceived(taken)]).toEqual([false, true]);
});

test('a track that is left out is no part of the mix as received either', () => {
  const id = session.tracks[0]!.id;
  const out = withFix(session, id, { kind: 'leave out' });
  expect(asReceived(out).tracks[0]!.on).toBe(false);
  expect(asReceived(setOn(session, id, false)).tracks[0]!.on).toBe(true);
});

test('fixes are data of the session, and what it has no way to do changes nothing', () => {
  const id = session.tracks[0]!.id;
  const fixed = (fix: Parameters<typeof withFix>[2]) => withFix(session, id, fix).tracks[0]!;
  expect(fixed({ kind: 'polarity' }).polarity).toBe('inverted');
  expect(fixed({ kind: 'offset', seconds: -0.25 }).offsetSeconds).toBe(-0.25);
  expect(fixed({ kind: 'gain', db: -3 }).gainDb).toBe(-3);
  expect(fixed({ kind: 'leave out' }).on).toBe(false);
  const [cut] = fixed({ kind: 'low cut', hz: 10 }).chain as readonly { processor: string; settings: object }[];
  // And nothing else: an EQ that is added by hand starts with bands that are heard.
  expect(cut!.processor).toBe('eq');
  expect(cut!.settings).toMatchObject({ 'band1.on': true, 'band1.shape': 'low cut', 'band1.frequency': 10 });
  expect(Object.keys(cut!.settings).filter((name) => !name.startsWith('band1.'))).toEqual([]);
  expect(fixed({ kind: 'channels', mode: 'sum' }).channels).toBe('sum');
  expect(fixed({ kind: 'channels', mode: 'swap' }).channels).toBe('swap');
  expect(fixed({ kind: 'notches', hz: [50, 150] }).chain[0]).toMatchObject({
    processor: 'eq',
    settings: { 'band1.shape': 'notch', 'band1.frequency': 50, 'band2.shape': 'notch', 'band2.frequency': 150 },
  });
  expect(fixed({ kind: 'channel polarity' }).polarity).toBe('right inverted');
  const inverted = withFix(session, id, { kind: 'polarity' });
  expect(withFix(inverted, id, { kind: 'channel polarity' }).tracks[0]!.polarity).toBe('left inverted');
  expect(fixed({ kind: 'channel delay', seconds: -0.0025 }).rightOffsetSeconds).toBe(-0.0025);
  const unknown = { kind: 'resample', sampleRate: RATE } as const;
  expect(fixWords(unknown)).toBeNull();
  expect(withFix(session, id, unknown)).toBe(session);
  // From its head and to its tail: one line on its switch.
  const headed = withFix(session, id, { kind: 'trim', from: 0.01, to: null });
  expect(withFix(headed, id, { kind: 'trim', from: null, to: 9 }).lines).toMatchObject([
    {
      target: { of: id, what: 'on' },
      points: [
        { at: 0, value: false },
        { at: 0.01, value: true },
        { at: 9, value: false },
      ],
    },
  ]);
});

// Arithmetic: the fold of two equal channels is as loud as they are; 11 samples later is 11 samples later.
test('a channel that is 11 samples late is told with what its fix does, and the fixed session plays both together', async () => {
  const sound = tracks[2]!.audio.channels[0]!;
  const late11 = Float32Array.from(sound, (_, n) => sound[n - 11] ?? 0);
  for (const [channels, fixSeconds] of [
    [[sound, late11], -11 / RATE],
    [[late11, sound], 11 / RATE],
  ] as const) {
    const file: Audio = { sampleRate: RATE, channels: [...channels] };
    const found = await receivedFrom([incoming('apart.wav', file)]);
    const told = found.tracks[0]!.warnings.find(({ code }) => code === 'channel-delay')!;
    expect(told.fix).toEqual({ kind: 'channel delay', seconds: fixSeconds });
    expect(told.effect).toMatchObject({ figure: 'mono fold against the channels', after: '0.0 dB' });
    expect(Number(told.effect!.before.replace('−', '-').replace(' dB', ''))).toBeLessThan(-0.2);
    const made = sessionOf(found, 'apart', (path) => path);
    const { id } = made.tracks[0]!;
    const { plan, sources } = planned(withFix(made, id, told.fix!), { [id]: file });
    const [left, right] = sumPaths(await renderDirect(plan, sources), gainsOf(plan)).channels;
    expect(left!.every((value, n) => value === right![n])).toBe(true);
    expect(left!.subarray(0, 1000)).toEqual((fixSeconds < 0 ? sound : late11).subarray(0, 1000));
  }
});

test('a song is called as the folder that says more than what is in it', () => {
  expect(songName(['home', 'Night Drive', 'tracks'])).toBe('Night Drive');
  expect(songName(['Night Drive'])).toBe('Night Drive');
  expect(songName(['Stems', 'audio files'])).toBeNull();
});

test('only fixes that change nothing but the fault are called safe', async () => {
  const quiet: Audio = { sampleRate: RATE, channels: [new Float32Array(RATE)] };
  const shifted: Audio = {
    sampleRate: RATE,
    channels: tracks[0]!.audio.channels.map((side) => side.map((x) => 0.3 * x + 0.05)),
  };
  // A true peak over full scale between samples: a sine at a quarter of the rate, taken at 45 degrees, is 3 dB higher (arithmetic).
  const hot: Audio = {
    sampleRate: RATE,
    channels: [Float32Array.from({ length: RATE }, (_, n) => Math.sin((Math.PI * n) / 2 + Math.PI / 4) * 1.3)],
  };
  const files = [incoming('silent.wav', quiet), incoming('offset.wav', shifted), incoming('hot.wav', hot)];
  const found = await receivedFrom(files);
  expect(found.tracks[2]!.warnings.map(({ code }) => code)).toContain('over-full-scale');
  const safe = safelyMendable(found, ['one', 'two', 'three']);
  expect(safe.map(({ track, warning }) => [track, warning.code])).toEqual([
    ['one', 'silent'],
    ['two', 'dc-offset'],
  ]);
});
