import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { chromium } from 'playwright';
import { build } from 'vite';
import { scriptBuild } from '../../src/cli/build-cli.mjs';
import { root } from '../../src/cli/ensure-dependencies.mjs';
import { chromiumAtHand, chromiumFlags } from '../find-chromium.mjs';
import { cases } from './dsp-cases.mjs';
import { nativeSeconds } from './dsp-natives.mjs';
import { isThere, medianOf } from './whole-process.mjs';

/** @typedef {import('./dsp-cases.mjs').Case} Case */
/** @typedef {typeof import('./dsp-kernels.ts')} Kernels */

const TURNS = 5;
const SECONDS = 20;

/**
 * One file of all kernels, for Node and for a page.
 * @param {string} folder
 */
async function bundled(folder) {
  await build({
    ...scriptBuild,
    build: {
      lib: {
        entry: join(root, 'tests/bench/dsp-kernels.ts'),
        name: 'kernels',
        formats: ['es', 'iife'],
        fileName: (format) => (format === 'es' ? 'kernels.mjs' : 'kernels.iife.js'),
      },
      outDir: folder,
      emptyOutDir: false,
      minify: false,
      target: 'es2022',
    },
  });
  return { module: join(folder, 'kernels.mjs'), script: join(folder, 'kernels.iife.js') };
}

/** The sound as raw samples, left and right in turn. @param {string} file @param {{ left: Float32Array, right: Float32Array }} sound */
function writeSound(file, { left, right }) {
  const samples = new Float32Array(2 * left.length);
  for (let n = 0; n < left.length; n++) {
    samples[2 * n] = left[n] ?? 0;
    samples[2 * n + 1] = right[n] ?? 0;
  }
  writeFileSync(file, new Uint8Array(samples.buffer));
}

/** Processor time of this process, seconds: what else the machine does counts less than by the clock on the wall. */
const ownSeconds = () => {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1e6;
};

/** Processor time of ffmpeg, seconds. @param {string} file @param {string} impulse @param {string | null} filter */
function ffmpegSeconds(file, impulse, filter) {
  const raw = (/** @type {string} */ path) => ['-f', 'f32le', '-ar', '48000', '-ac', '2', '-i', path];
  const inputs = filter === 'afir' ? [...raw(file), ...raw(impulse)] : raw(file);
  const filters = filter === null ? [] : filter === 'afir' ? ['-filter_complex', 'afir'] : ['-af', filter];
  const args = ['-nostdin', '-benchmark', ...inputs, ...filters, '-f', 'null', '-'];
  const { stderr } = spawnSync('ffmpeg', args, { encoding: 'utf8' });
  const [, user = 'NaN', system = 'NaN'] = /utime=([\d.]+)s stime=([\d.]+)s/.exec(stderr) ?? [];
  return Number(user) + Number(system);
}

/** A page with the kernels in it, or null where there is no Chromium. @param {string} script */
async function openPage(script) {
  const executablePath = chromiumAtHand();
  try {
    const browser = await chromium.launch({ args: chromiumFlags, ...(executablePath ? { executablePath } : {}) });
    const page = await browser.newPage();
    await page.addScriptTag({ path: script });
    return { page, close: () => browser.close() };
  } catch {
    console.log('no Chromium could be started: nothing to compare with there');
    return null;
  }
}

/** Seconds that our kernel takes in a page. @param {import('playwright').Page} page @param {Case} one */
const inPage = (page, { processor, settings = {} }) =>
  page.evaluate(
    ({ processor, settings, seconds }) => {
      const kernels = /** @type {{ kernels: Kernels }} */ (/** @type {unknown} */ (globalThis)).kernels;
      return kernels.secondsFor(processor, settings, kernels.soundOf(seconds));
    },
    { processor, settings, seconds: SECONDS },
  );

/** Below this, seconds, a difference of two runs says nothing. */
const LEAST = 0.002;

/** How many times as fast ours is, or a dash where theirs cannot be told. @param {number[]} ours @param {number[]} theirs */
const ratioOf = (ours, theirs) =>
  medianOf(theirs) > LEAST ? (medianOf(theirs) / medianOf(ours)).toFixed(2) : theirs.length === 0 ? '' : '-';

/**
 * All turns of one case: ours in Node, ffmpeg's (what reading takes taken off), ours and the browser's own in a page.
 * @param {Case} one @param {{ kernels: Kernels, sound: import('../../src/audio/audio.ts').StereoSound, song: string, impulse: string, page: import('playwright').Page | null, ffmpeg: boolean }} hosts
 */
async function measured(one, { kernels, sound, song, impulse, page, ffmpeg }) {
  const { processor, settings = {}, ffmpeg: filter, native } = one;
  /** @type {Record<'node' | 'ffmpeg' | 'page' | 'native', number[]>} */
  const seconds = { node: [], ffmpeg: [], page: [], native: [] };
  for (let turn = -1; turn < TURNS; turn++) {
    const node = kernels.secondsFor(processor, settings, sound, ownSeconds);
    const its = ffmpeg && filter ? ffmpegSeconds(song, impulse, filter) - ffmpegSeconds(song, impulse, null) : null;
    const inside = page && native ? await inPage(page, one) : null;
    const nodes =
      page && native ? await page.evaluate(nativeSeconds, { name: native, seconds: SECONDS, rate: 48_000 }) : null;
    if (turn < 0) continue; // once before, so that all is compiled and in memory
    seconds.node.push(node);
    if (its !== null) seconds.ffmpeg.push(its);
    if (inside !== null) seconds.page.push(inside);
    if (nodes !== null) seconds.native.push(nodes);
  }
  return seconds;
}

const WIDTHS = [44, 12, 10, 10];
/** @param {string[]} cells */
const line = (cells) =>
  cells.map((cell, n) => (n === 0 ? cell.padEnd(WIDTHS[n] ?? 0) : cell.padStart(WIDTHS[n] ?? 0))).join('');

export async function bench() {
  const folder = mkdtempSync(join(tmpdir(), 'tributary-bench-'));
  const { module, script } = await bundled(folder);
  const opened = await openPage(script);
  try {
    /** @type {Kernels} */
    const kernels = await import(pathToFileURL(module).href);
    const sound = kernels.soundOf(SECONDS);
    const [song, impulse] = [join(folder, 'song.f32'), join(folder, 'impulse.f32')];
    writeSound(song, sound);
    writeSound(impulse, kernels.soundOf(2));
    const hosts = { kernels, sound, song, impulse, page: opened?.page ?? null, ffmpeg: isThere('ffmpeg') };
    const named = new Set(cases.map(({ processor }) => processor));
    const all = new Set(kernels.ids());
    const rest = [...all].filter((id) => !named.has(id)).map(/** @returns {Case} */ (processor) => ({ processor }));
    console.log(
      `${SECONDS} s of stereo noise at 48 kHz, ${TURNS} turns, medians of processor time. Ratios above 1: ours is faster.`,
    );
    console.log(line(['processor', 'x real time', '/ ffmpeg', '/ native']));
    for (const one of [...cases.filter(({ processor }) => all.has(processor)), ...rest]) {
      const { node, ffmpeg, page, native } = await measured(one, hosts);
      const name = `${one.processor}${one.note ? `, ${one.note}` : ''}`;
      console.log(line([name, (SECONDS / medianOf(node)).toFixed(0), ratioOf(node, ffmpeg), ratioOf(page, native)]));
    }
    console.log('ffmpeg: the filter that comes nearest, less what reading takes; it may do less, or more, than ours.');
    console.log(
      'native: the nearest node in an offline context, less a bare one; ours in the same page; both by the clock.',
    );
  } finally {
    await opened?.close();
    rmSync(folder, { recursive: true });
  }
}
