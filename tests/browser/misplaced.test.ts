import { expect, it } from 'vitest';
import { opened } from './opened-engine.ts';
import { shortSong, until } from './short-song.ts';

it('a track before which nothing stands for very long is refused, as on the command line, and the song goes on once it is put back', async () => {
  const song = shortSong();
  const bench = await opened(song);
  const late = (seconds: number) => ({
    ...song,
    tracks: song.tracks.map((track) => (track.id === 'low' ? { ...track, offsetSeconds: seconds } : track)),
  });
  bench.apply(late(700));
  await until(() => bench.view.state.phase === 'failed', 'the refusal');
  expect(bench.view.state.message).toBe(
    'tracks[1].offsetSeconds must be a place at most 600 s after the sound before it, not 700 (nothing sounds for 695 s before Low begins).',
  );
  bench.apply(song);
  await until(() => bench.view.isMeasured && bench.view.state.phase !== 'failed', 'the song as it was');
});
