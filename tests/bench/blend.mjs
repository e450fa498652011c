import { closeSync, mkdtempSync, openSync, rmSync, writeSync } from 'node:fs';
import { freemem, tmpdir } from 'node:os';
import { join } from 'node:path';
import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import { Worker } from 'node:worker_threads';
import { bundled } from './bundled.mjs';
import { isThere, medianOf, secondsOf } from './whole-process.mjs';

/** @typedef {typeof import('./blend-work.ts')} Work */
/** @typedef {import('../../src/blend/gram/make-blend-query.ts').QueryPath<import('../../src/audio/audio.ts').Audio>} QueryPath */

setFlagsFromString('--expose-gc');
/** Gives back what is no longer used, so that memory can be told. @type {() => void} */
const collect = runInNewContext('gc');

const SECONDS = 240;
const QUERIES = 200;
const PEAKS = 10;
const CHANGES = 3;
const SUMS = 2;

/** Seconds of one run. @template T @param {() => T} run @returns {[number, T]} */
function timed(run) {
  const start = performance.now();
  const result = run();
  return [(performance.now() - start) / 1000, result];
}

/** Median seconds of many runs, each told its turn. @param {number} turns @param {(turn: number) => unknown} run */
function each(turns, run) {
  for (let turn = 0; turn < 5; turn++) run(turn);
  return medianOf(Array.from({ length: turns }, (_, turn) => timed(() => run(turn))[0]));
}

/** What goes on, for who waits. @param {string} text */
const tell = (text) => process.stderr.write(`  … ${text}\n`);

/** The path as raw interleaved single-precision samples. @param {QueryPath} path @param {string} file */
function writeRaw({ audio }, file) {
  const [left, right] = audio.channels;
  if (!left || !right) return;
  const out = openSync(file, 'w');
  const piece = new Float32Array(2 * audio.sampleRate);
  for (let from = 0; from < left.length; from += audio.sampleRate) {
    for (let n = 0; n < audio.sampleRate; n++) {
      piece[2 * n] = left[from + n] ?? 0;
      piece[2 * n + 1] = right[from + n] ?? 0;
    }
    writeSync(out, piece);
  }
  closeSync(out);
}

/** ffmpeg mixes the paths and measures them, one whole process. @param {readonly string[]} files @param {boolean} peak */
const theirs = (files, peak) =>
  secondsOf('ffmpeg', [
    ...['-nostdin', '-v', 'quiet'],
    ...files.flatMap((file) => ['-f', 'f32le', '-ar', '48000', '-ac', '2', '-i', file]),
    ...['-filter_complex', `amix=inputs=${files.length}:normalize=0,ebur128${peak ? '=peak=true' : ''}`],
    ...['-f', 'null', '-'],
  ]);

const ms = (/** @type {number} */ seconds) => `${(1000 * seconds).toFixed(seconds < 0.1 ? 2 : 0)} ms`;

/** Seconds of wall clock and of processor of each change of a path. @param {Work} work @param {QueryPath[]} paths */
function changesOf(work, paths, /** @type {ReturnType<Work['makeBlendQuery']>} */ query) {
  const other = work.path(paths.length + 7, SECONDS).audio;
  const changes = Array.from({ length: CHANGES + 1 }, (_, n) => {
    collect();
    const before = process.cpuUsage();
    const [wall] = timed(() => work.withPath(query, n % 2, other));
    const { user, system } = process.cpuUsage(before);
    return { wall, processor: (user + system) / 1e6 };
  }).slice(1);
  return {
    wall: medianOf(changes.map(({ wall }) => wall)),
    processor: medianOf(changes.map(({ processor }) => processor)),
  };
}

/**
 * The same as the app does it: the bands are kept in a second thread, and made while the other half is made here.
 * @param {Work} work @param {QueryPath[]} paths @param {ReturnType<Work['makeBlendQuery']>} query
 * @param {string} address of the bundle
 */
async function changesInTwoThreads(work, paths, query, address) {
  const thread = new Worker(new URL('./band-thread.mjs', import.meta.url), { workerData: address });
  const answer = () => new Promise((resolve, reject) => thread.once('message', resolve).once('error', reject));
  const other = work.path(paths.length + 7, SECONDS).audio;
  const tellPath = (/** @type {number} */ index, /** @type {QueryPath['audio']} */ audio) => {
    const channels = audio.channels.map((channel) => channel.slice());
    thread.postMessage(
      { index, audio: { sampleRate: audio.sampleRate, channels } },
      channels.map(({ buffer }) => buffer),
    );
    return answer();
  };
  for (const [index, { audio }] of paths.entries()) await tellPath(index, audio);
  thread.postMessage(null);
  await answer();
  const seconds = [];
  for (const { id, audio } of paths.slice(0, CHANGES + 1)) {
    const index = query.ids.indexOf(id);
    collect();
    const start = performance.now();
    const taken = tellPath(index, other);
    thread.postMessage(null);
    const bands = taken.then(answer);
    const time = work.finished(work.renewedTimeSteps(query.time, paths.with(index, { id, audio: other })));
    new work.GramQuery(time, await bands, null);
    seconds.push((performance.now() - start) / 1000);
    await tellPath(index, audio);
    thread.postMessage(null);
    await answer();
  }
  await thread.terminate();
  return medianOf(seconds.slice(1));
}

/** Seconds to sum the paths and measure the sum, the fastest of a few. @param {Work} work @param {QueryPath[]} paths */
function sumsOf(work, paths) {
  const sums = Array.from({ length: SUMS }, (_, turn) => {
    const [sum, audio] = timed(() => work.summed(paths, work.gainsOf(paths.length, turn)));
    const [measured] = timed(() => work.measure(audio));
    const [truePeak] = timed(() => work.truePeakOf(audio.channels));
    return { all: sum + measured, peak: sum + truePeak };
  });
  return { all: Math.min(...sums.map(({ all }) => all)), peak: Math.min(...sums.map(({ peak }) => peak)) };
}

/** @param {Work} work @param {number} count @param {string} folder @param {string} address of the bundle */
async function benchOf(work, count, folder, address) {
  console.log(`${count} paths of ${SECONDS} s`);
  tell('making the paths');
  const paths = Array.from({ length: count }, (_, which) => work.path(which, SECONDS));
  const pcm = count * 2 * 4 * 48_000 * SECONDS;
  collect();
  const before = process.memoryUsage().arrayBuffers;
  tell('building the query');
  const [built, query] = timed(() => work.makeBlendQuery(paths));
  collect();
  const kept = process.memoryUsage().arrayBuffers - before;
  console.log(`  built in ${built.toFixed(1)} s; memory ${(1 + kept / pcm).toFixed(2)} times the paths, with them`);
  tell('changing a path');
  const changed = changesOf(work, paths, query);
  const together = await changesInTwoThreads(work, paths, query, address);
  console.log(
    `  one path changed in ${together.toFixed(2)} s by two threads, as the app does; in one, ${changed.wall.toFixed(2)} s ` +
      `(${changed.processor.toFixed(2)} s of processor)`,
  );
  tell('asking');
  const gains = (/** @type {number} */ turn) => work.gainsOf(count, turn);
  const essentials = each(QUERIES, (turn) => query.essentials(gains(turn)));
  const figures = each(QUERIES, (turn) => query.figures(gains(turn)));
  const peak = each(PEAKS, (turn) => query.truePeakDbtp(gains(turn)));
  console.log(`  loudness, range, width, fold, spectrum ${ms(essentials)}; with the highest M and S ${ms(figures)}`);
  console.log(`  true peak ${ms(peak)}`);
  const times = (/** @type {number} */ theirs, /** @type {number} */ ours) => (theirs / ours).toFixed(0);
  tell('summing and measuring');
  const sums = sumsOf(work, paths);
  console.log(
    `  summing and measuring ${ms(sums.all)}: a query is ${times(sums.all, essentials)} times as fast, ` +
      `${times(sums.all, figures)} with M and S`,
  );
  console.log(`  summing and its true peak ${ms(sums.peak)}: the search is ${times(sums.peak, peak)} times as fast`);
  if (!isThere('ffmpeg')) return console.log('  ffmpeg is not installed: nothing more to compare with');
  tell('ffmpeg');
  const files = paths.map((path, n) => {
    const file = join(folder, `${n}.raw`);
    writeRaw(path, file);
    return file;
  });
  const plain = await theirs(files, false);
  const withPeak = await theirs(files, true);
  console.log(
    `  ffmpeg amix and ebur128 ${ms(plain)}: a query is ${times(plain, essentials)} times as fast, ` +
      `${times(plain, figures)} with M and S`,
  );
  console.log(`  the same with true peak ${ms(withPeak)}: ${times(withPeak, figures + peak)} times as fast`);
}

export async function bench() {
  const folder = mkdtempSync(join(tmpdir(), 'tributary-bench-'));
  try {
    const address = await bundled('blend-work', folder);
    /** @type {Work} */
    const work = await import(address);
    for (const count of [12, 28]) {
      // The paths, what is kept of them, and the sums and rows of one turn.
      const needed = 3.2 * count * 8 * 48_000 * SECONDS;
      if (freemem() > needed) await benchOf(work, count, folder, address);
      else console.log(`${count} paths need ${(needed / 1e9).toFixed(0)} GB of free memory: left out`);
    }
  } finally {
    rmSync(folder, { recursive: true });
  }
}
