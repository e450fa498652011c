import { expect, test } from 'vitest';
import { framesOf, wholeOf, type Audio } from '../../src/audio/audio.ts';
import { answerOf } from '../../src/engine/job.ts';
import { shifted, Song } from '../../src/engine/song.ts';
import { renderDirect } from '../../src/render/direct.ts';
import { setBlend } from '../../src/session/edits/edits.ts';
import { expectSameSamples } from '../helpers/same-samples.ts';
import { feedingSession, SECONDS, smallSession, smallSounds, SongInHand } from './song-in-hand.ts';

test('a bus that is a wire at 0 dB doubles its group: +6.02 dB to the sample (arithmetic)', async () => {
  const { song } = new SongInHand();
  const session = smallSession({
    groups: [{ id: 'bass', name: 'Bass', sends: [{ to: 'double' }] }],
    tracks: [{ id: 'b', name: 'Bass', file: 'bass.wav', group: 'bass' }],
    buses: [{ id: 'double', name: 'Double', blendDb: 0, chain: [{ processor: 'gain' }] }],
  });
  const { paths } = await answerOf(song.rendered(session));
  const bass = wholeOf(paths.get('bass')!).channels;
  wholeOf(paths.get('double')!).channels.forEach((channel, n) => expectSameSamples(channel, bass[n]!));
});

test('the plan of a session is made once, and anew when sounds came', () => {
  const { song } = new SongInHand();
  const session = smallSession();
  const { plan } = song.planned(session);
  expect(song.planned(session).plan).toBe(plan);
  song.soundsChanged();
  expect(song.planned(session).plan).not.toBe(plan);
  expect(song.planned(session).plan).toEqual(plan);
});

test('strips that are kept are found again; those beside leave nothing behind', async () => {
  const hand = new SongInHand();
  const session = smallSession();
  await hand.workshop(session);
  expect(hand.ran.at(-1)).toEqual(['bass', 'keys', 'double', 'air']);
  const otherwise = {
    ...session,
    groups: session.groups.with(0, { ...session.groups[0]!, chain: session.buses[0]!.chain }),
  };
  await answerOf(hand.song.rendered(otherwise));
  await answerOf(hand.song.rendered(otherwise));
  // renderDirect leaves what it runs in the cache that it is given, which lets it go.
  expect(hand.ran.slice(-2)).toEqual([
    ['bass', 'double'],
    ['bass', 'double'],
  ]);
});

test('with another blend the same paths are taken; where a path hangs on the blend, it alone is rendered', async () => {
  const hand = new SongInHand();
  const { song } = hand;
  const plain = (await hand.workshop(smallSession())).mix;
  const led = await answerOf(song.renderedAfter(setBlend(plain.session, 'double', -3), plain));
  expect(led.paths).toBe(plain.paths);
  expect(led.plan.paths.find(({ id }) => id === 'double')!.gain).toBeCloseTo(10 ** (-3 / 20), 12);
  expect(hand.ran).toHaveLength(1);

  const { mix } = await hand.workshop(feedingSession());
  const fed = await answerOf(song.renderedAfter(setBlend(mix.session, 'double', -3), mix));
  expect(hand.ran.at(-1)).toEqual(['air']);
  expect(fed.paths.get('double')).toBe(mix.paths.get('double'));
  const fresh = await answerOf(new SongInHand().song.rendered(fed.session));
  const [air, anew] = [fed, fresh].map(({ paths }) => wholeOf(paths.get('air')!).channels);
  air!.forEach((channel, n) => expectSameSamples(channel, anew![n]!));
  expect(fed.plan.soundFrames).toBe(fresh.plan.soundFrames);
});

test('rendered until a frame it sounds as the whole does until there', async () => {
  const { song } = new SongInHand();
  const session = feedingSession();
  const [whole, part] = [await answerOf(song.rendered(session)), await answerOf(song.renderedUntil(session, 40_000))];
  for (const [id, path] of part.paths) {
    expect(framesOf(path)).toBe(40_000);
    const all = wholeOf(whole.paths.get(id)!).channels;
    wholeOf(path).channels.forEach((channel, n) => expectSameSamples(channel, all[n]!.subarray(0, 40_000)));
  }
});

test('the mix as received is its tracks at their levels: no chains, no buses, faders at 0 dB', async () => {
  const { song, sounds } = new SongInHand();
  const session = smallSession();
  expect(song.asReceived(session)).toBe(song.asReceived(session));
  const { paths, plan } = await answerOf(song.received(session));
  expect([...paths.keys()]).toEqual(['bass', 'keys']);
  expect(plan.paths.map(({ gain }) => gain)).toEqual([1, 1]);
  const keys = sounds.get('keys.wav')!;
  expect(paths.get('keys')!.channels[0]!.subarray(0, 1000)).toEqual(keys.channels[0]!.subarray(0, 1000));
});

test.each([
  [0.5, 24_000 + 100],
  [0, 100],
  [-0.001, 52],
])('the rough moved by %d s begins there, and keeps its end', (seconds, at) => {
  const sound: Audio = { sampleRate: 48_000, channels: [new Float32Array(4800).fill(1, 100, 101)] };
  const moved = shifted(sound, seconds);
  expect(moved.channels[0]!.findIndex((x) => x !== 0)).toBe(at);
  expect(framesOf(moved)).toBe(4800 + Math.round(seconds * 48_000));
});

test('a rough of one channel is heard from both sides; it is the same object as long as it is the same sound', () => {
  const sounds = smallSounds();
  const { song } = new SongInHand(sounds);
  const session = smallSession({ rough: { file: 'bass.wav', offsetSeconds: 0.25 } });
  const rough = song.roughOf(session)!;
  expect(rough.channels).toHaveLength(2);
  expect(rough.channels[1]).toBe(rough.channels[0]);
  expect(framesOf(rough)).toBe(SECONDS * 48_000 + 12_000);
  expect(song.roughOf({ ...session })).toBe(rough);
  expect(song.roughOf({ ...session, rough: { ...session.rough!, offsetSeconds: 0.5 } })).not.toBe(rough);
  expect(song.roughOf({ ...session, rough: null })).toBeNull();
});

test('what is refused is refused before it is rendered, with the sentence of the one who refuses', async () => {
  let renders = 0;
  const sounds = smallSounds();
  const song = new Song(
    { at: (file) => sounds.get(file) ?? null },
    (...given) => {
      renders++;
      return renderDirect(...given);
    },
    ({ title }) => {
      throw new Error(`${title} is too long.`);
    },
  );
  await expect(answerOf(song.rendered(smallSession()))).rejects.toThrow('Small song is too long.');
  expect(renders).toBe(0);
});

test('a render that is withdrawn stops, and its executor is told so', async () => {
  const hand = new SongInHand();
  const work = new AbortController();
  const session = feedingSession();
  hand.onRender = () => work.abort(new DOMException('not wanted', 'AbortError'));
  await expect(answerOf(hand.song.rendered(session), { signal: work.signal })).rejects.toThrow('not wanted');
});
