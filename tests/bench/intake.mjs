// What is received, checked on the command line, and its rough explained: time of one core against the song's length, and memory. 40 tracks
// of 4 minutes, where made-song.mjs is not told otherwise.
import { dirname, join } from 'node:path';
import { ensureBuilt } from '../../src/cli/build-cli.mjs';
import { bundled } from './bundled.mjs';

export const bench = async () => {
  process.env['SONG_TRACKS'] ??= '40';
  // Which reads how large the song is to be.
  const { SIZE, tell, withSong } = await import('./made-song.mjs');
  const { taken } = await import('./taken.mjs');
  const { tellVerdicts, WANTED } = await import('./wanted.mjs');
  await withSong(async (folder, session) => {
    /** @type {typeof import('./summed-rough.ts')} */
    const maker = await import(await bundled('summed-rough', join(folder, 'maker')));
    await maker.writeSummedRough(dirname(session), SIZE.tracks);
    await ensureBuilt(console.log);
    const command = [process.execPath, 'src/cli/run.mjs', 'intake', dirname(session), '--json'];
    const took = await taken('taskset', ['-c', '0', ...command]);
    tell('intake, one core', took);
    tell('its processor time', { ...took, seconds: took.processor });
    tellVerdicts([
      [WANTED.received, took.processor],
      [WANTED.receivedMemory, took.peak],
    ]);
  });
};
