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

/** @param {string[]} args */
const ours =
  (...args) =>
  () =>
    secondsOf(process.execPath, [cli, 'measure', '--json', ...args]);

/** @param {string} file */
const theirs = (file) => () =>
  secondsOf('ffmpeg', ['-nostdin', '-v', 'quiet', '-i', file, '-af', 'ebur128=peak=true', '-f', 'null', '-']);

/** Median of the ratios turn by turn. @param {number[]} ours @param {number[]} others */
const ratioOf = (ours, others) => medianOf(ours.map((seconds, n) => (others[n] ?? NaN) / seconds)).toFixed(2);

/** Greatest memory of a command, MB, by the system's own account. @param {string} file */
function memoryOf(file) {
  const { stderr } = spawnSync('/usr/bin/time', ['-f', '%M', process.execPath, cli, 'measure', '--json', file], {
    encoding: 'utf8',
  });
  return Number(stderr?.trim().split('\n').at(-1)) / 1024;
}

const seconds = (/** @type {number[]} */ values) => `${medianOf(values).toFixed(2)} s`;

/** @param {string} song */
async function besideOthers(song) {
  const compared = isThere('ffmpeg');
  const commands = [ours(song), ours('--only', 'loudness', song), ours(song, song, song, song)];
  const [full = [], loudness = [], four = [], its = []] = await inTurn(
    compared ? [...commands, theirs(song)] : commands,
    TURNS,
  );
  console.log(`4 minutes of stereo at 48 kHz, whole processes, medians of ${TURNS} turns:`);
  console.log(`  full report              ${seconds(full)}`);
  console.log(`  loudness and true peak   ${seconds(loudness)}`);
  console.log(
    `  four such files together ${seconds(four)}, one after the other ${ratioOf(
      four,
      full.map((x) => 4 * x),
    )} times as long`,
  );
  if (!compared) {
    console.log('  ffmpeg is not installed: nothing to compare with');
    return;
  }
  console.log(`  ffmpeg ebur128=peak=true ${seconds(its)}`);
  console.log(
    `  the full report is ${ratioOf(full, its)} times as fast, loudness alone ${ratioOf(loudness, its)} times`,
  );
}

/** @param {string} folder */
async function longFiles(folder) {
  for (const minutes of [15, 60]) {
    const long = join(folder, `${minutes}.wav`);
    writeSong(long, 60 * minutes);
    const taken = await ours(long)();
    const memory = memoryOf(long);
    const told = Number.isFinite(memory) ? `${memory.toFixed(0)} MB` : 'memory not known without /usr/bin/time';
    console.log(`${minutes} minutes: ${taken.toFixed(1)} s, ${(taken / minutes).toFixed(3)} s a minute, ${told}`);
  }
}

export async function bench() {
  const folder = mkdtempSync(join(tmpdir(), 'tributary-bench-'));
  try {
    const song = join(folder, 'song.wav');
    writeSong(song, 240);
    await besideOthers(song);
    await longFiles(folder);
  } finally {
    rmSync(folder, { recursive: true });
  }
}
