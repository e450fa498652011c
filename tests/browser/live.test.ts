import { expect, it } from 'vitest';
import type { Meters } from '../../src/engine/engine.ts';
import { setSetting } from '../../src/session/chain/chain-edits.ts';
import { opened } from './opened-engine.ts';
import { shortSong, until } from './short-song.ts';

it('a path that is worked on runs live while the song plays, moves at once, and is what is rendered when it is left', async () => {
  const song = shortSong();
  const bench = await opened(song);
  let read: Meters | null = null;
  bench.listenToMeters((meters) => (read = meters));
  /** Gain reduction of the bus's compressor, dB; undefined: the bus does not run live. */
  const reduction = (): number | null | undefined => read?.reductions.get('squeeze')?.[0];
  bench.loop({ startSeconds: 1, endSeconds: 5 });
  bench.touch('squeeze');
  await bench.play();
  await until(() => bench.view.live.path === 'squeeze' && (reduction() ?? 0) > 1, 'a live path');
  expect(bench.view.live.note).toBe('');

  // Above all that sounds: nothing is turned down any more.
  const moved = setSetting(song, 'squeeze', 'c', 'threshold', 0);
  bench.apply(moved);
  await until(() => reduction() === 0, 'the move');
  await until(() => bench.view.isMeasured, 'the render');
  expect(bench.view.live.path).toBe('squeeze');

  bench.touch(null);
  await until(() => bench.view.live.path === null && reduction() === undefined, 'the rendered path');

  bench.seek(2);
  bench.touch('drums');
  await until(
    () => read!.reductions.has('drums') && read!.reductions.has('squeeze'),
    'the group and the bus that it feeds',
  );
  bench.pause();
  await until(() => bench.view.live.path === null, 'rest');
});
