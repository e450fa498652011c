// A whole song on the command line: what rendering, measuring and printing take of time and memory, beside what ffmpeg takes for a like
// graph. made-song.mjs says which song.
import { readdirSync, readFileSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { join } from 'node:path';
import { ensureBuilt } from '../../src/cli/build-cli.mjs';
import { SIZE, tell, withSong } from './made-song.mjs';
import { taken } from './taken.mjs';
import { tellVerdicts, WANTED } from './wanted.mjs';
import { isThere } from './whole-process.mjs';

/** Cores that printing is held against one core on. */
const CORES = 2;

/** @param {string} folder @param {string} session */
async function commandLine(folder, session) {
  await ensureBuilt(console.log);
  const command = ['src/cli/run.mjs', 'print', session, '--json', '--force'];
  const print = (/** @type {string} */ out) => [...command, '--out', join(folder, out)];
  const all = await taken(process.execPath, print('all'));
  tell(`print, ${availableParallelism()} cores`, all);
  /** @type {[import('./wanted.mjs').Wanted, number][]} */
  const found = [[WANTED.printMemory, all.peak]];
  if (isThere('taskset') && availableParallelism() >= CORES) {
    const on = (/** @type {string} */ cores, /** @type {string} */ out) =>
      taken('taskset', ['-c', cores, process.execPath, ...print(out)]);
    const one = await on('0', 'one');
    tell('print, one core', one);
    const two = availableParallelism() === CORES ? all : await on('0,1', 'two');
    if (two !== all) tell('print, two cores', two);
    const wavs = readdirSync(join(folder, 'all')).filter((name) => name.endsWith('.wav'));
    const read = (/** @type {string} */ out, /** @type {string} */ name) => readFileSync(join(folder, out, name));
    const unlike = wavs.filter((name) => !read('all', name).equals(read('one', name)));
    console.log(`  files compared byte by byte: ${wavs.length}`);
    found.push([WANTED.twoCores, one.seconds / two.seconds], [WANTED.unlikeFiles, unlike.length]);
  }
  tell('ledger', await taken(process.execPath, ['src/cli/run.mjs', 'ledger', session, '--json']));
  return found;
}

/** Every track through an EQ and a compressor, every bus through a compressor, all summed: as near as its filters come. @param {string} folder */
async function ffmpeg(folder) {
  if (!isThere('ffmpeg')) return;
  const song = join(folder, 'song');
  const inputs = Array.from({ length: SIZE.tracks }, (_, n) => ['-i', join(song, `track-${n + 1}.wav`)]).flat();
  const groups = Array.from({ length: SIZE.groups }, (_, g) => {
    const members = Array.from({ length: SIZE.tracks }, (_, n) => n).filter((n) => n % SIZE.groups === g);
    const sends = Array.from({ length: SIZE.buses }, (_, b) => b).filter((b) => b % 3 === g % 3);
    const outs = [`[g${g}]`, ...sends.map((b) => `[g${g}b${b}]`)];
    const mix = `${members.map((n) => `[${n}:a]`).join('')}amix=inputs=${members.length}:normalize=0`;
    return `${mix},equalizer=f=1000:t=q:w=1:g=2,acompressor,asplit=${outs.length}${outs.join('')}`;
  });
  const buses = Array.from({ length: SIZE.buses }, (_, b) => {
    const feeds = Array.from({ length: SIZE.groups }, (_, g) => g).filter((g) => b % 3 === g % 3);
    return `${feeds.map((g) => `[g${g}b${b}]`).join('')}amix=inputs=${feeds.length}:normalize=0,equalizer=f=3000:t=q:w=1:g=2,acompressor,asoftclip,volume=-14dB[b${b}]`;
  });
  const paths = [...groups.map((_, g) => `[g${g}]`), ...buses.map((_, b) => `[b${b}]`)];
  const sum = `${paths.join('')}amix=inputs=${paths.length}:normalize=0,acompressor,alimiter[out]`;
  const args = [...inputs, '-filter_complex', [...groups, ...buses, sum].join(';'), '-map', '[out]'];
  const out = ['-c:a', 'pcm_s24le', join(folder, 'ffmpeg.wav')];
  tell('ffmpeg, a graph of the same topology', await taken('ffmpeg', ['-v', 'error', '-y', ...args, ...out]));
}

export const bench = () =>
  withSong(async (folder, session) => {
    const found = await commandLine(folder, session);
    await ffmpeg(folder);
    tellVerdicts(found);
  });
