import { closeSync, mkdtempSync, openSync, rmSync, writeSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { spawnSync } from 'node:child_process';
import { root } from '../../src/cli/ensure-dependencies.mjs';
import { inTurn, isThere, medianOf, secondsOf } from './whole-process.mjs';

const TURNS = 7;
const RATE = 48_000;
const cli = join(root, 'src/cli/run.mjs');

/** Pink-ish noise that swells four times a second, different left and right: 16 bit stereo, always the same.
 * @param {string} path @param {number} seconds */
function writeSong(path, seconds) {
  const second = Buffer.alloc(4 * RATE);
  const header = Buffer.alloc(44);
  const size = second.length * seconds;
  header.write('RIFF', 0);
  header.writeUInt32LE(36 + size, 4);
  header.write('WAVEfmt ', 8);
  header.writeUInt32LE(16, 16);
  header.writeUInt16LE(1, 20);
  header.writeUInt16LE(2, 22);
  header.writeUInt32LE(RATE, 24);
  header.writeUInt32LE(4 * RATE, 28);
  header.writeUInt16LE(4, 32);
  header.writeUInt16LE(16, 34);
  header.write('data', 36);
  header.writeUInt32LE(size, 40);
  const file = openSync(path, 'w');
  writeSync(file, header);
  let state = 1;
  const low = [0, 0];
  const lower = [0, 0];
  for (let n = 0; n < RATE * seconds; n++) {
    const swell = Math.exp((-8 * (n % (RATE / 4))) / RATE) * (0.4 + 0.6 * Math.sin((Math.PI * n) / (RATE * seconds)));
    for (const side of [0, 1]) {
      state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
      const white = state / 2 ** 31 - 1;
      low[side] = 0.93 * (low[side] ?? 0) + 0.07 * white;
      lower[side] = 0.995 * (lower[side] ?? 0) + 0.005 * white;
      const x = swell * (0.15 * white + low[side] + 2 * lower[side]);
      second.writeInt16LE(Math.round(32767 * Math.max(-1, Math.min(1, x))), 4 * (n % RATE) + 2 * side);
    }
    if (n % RATE === RATE - 1) writeSync(file, second);
  }
  closeSync(file);
}

/** @param {string[]} files */
const ours = (files) => () => secondsOf(process.execPath, [cli, 'measure', '--json', ...files]);

/** @param {string} file */
const theirs = (file) => () =>
  secondsOf('ffmpeg', ['-nostdin', '-v', 'quiet', '-i', file, '-af', 'ebur128=peak=true', '-f', 'null', '-']);

/** @param {number[]} ours @param {number[]} theirs */
const ratioOf = (ours, theirs) => medianOf(ours.map((seconds, n) => (theirs[n] ?? NaN) / seconds)).toFixed(2);

/** Greatest memory of a command, MB, by the system's own account. @param {string} file */
function memoryOf(file) {
  const { stderr } = spawnSync('/usr/bin/time', ['-f', '%M', process.execPath, cli, 'measure', '--json', file], {
    encoding: 'utf8',
  });
  return Number(stderr?.trim().split('\n').at(-1)) / 1024;
}

export async function bench() {
  const folder = mkdtempSync(join(tmpdir(), 'tributary-bench-'));
  try {
    const song = join(folder, 'song.wav');
    writeSong(song, 240);
    const [full, four] = await inTurn([ours([song]), ours([song, song, song, song])], TURNS);
    console.log(`full report of 4 minutes: ${medianOf(full ?? []).toFixed(2)} s`);
    console.log(`four such files together: ${medianOf(four ?? []).toFixed(2)} s`);
    if (isThere('ffmpeg')) {
      const [mine, its] = await inTurn([ours([song]), theirs(song)], TURNS);
      console.log(
        `ffmpeg ebur128=peak=true: ${medianOf(its ?? []).toFixed(2)} s; ours is ${ratioOf(mine ?? [], its ?? [])} times as fast`,
      );
    } else {
      console.log('ffmpeg is not installed: nothing to compare with');
    }
    const hour = join(folder, 'hour.wav');
    writeSong(hour, 3600);
    const seconds = await ours([hour])();
    const memory = memoryOf(hour);
    const told = Number.isFinite(memory) ? `${memory.toFixed(0)} MB` : 'memory not known without /usr/bin/time';
    console.log(`1 hour: ${seconds.toFixed(1)} s, ${told}`);
  } finally {
    rmSync(folder, { recursive: true });
  }
}
