// A whole song: what opening, rendering, measuring and printing take of time and memory, beside what ffmpeg takes for a like graph.
// SONG_SECONDS, SONG_TRACKS, SONG_GROUPS and SONG_BUSES make it another one than the reference song of the issue.
import { spawn } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { availableParallelism, tmpdir } from 'node:os';
import { join } from 'node:path';
import { chromium } from 'playwright';
import { preview } from 'vite';
import { ensureBuilt } from '../../src/cli/build-cli.mjs';
import { root } from '../../src/cli/ensure-dependencies.mjs';
import { configFile, ensureApp } from '../../src/ui/build-app.mjs';
import { chromiumAtHand, chromiumFlags } from '../find-chromium.mjs';
import { bundled } from './bundled.mjs';
import { isThere } from './whole-process.mjs';

const numberFrom = (/** @type {string} */ name, /** @type {number} */ otherwise) =>
  Number(process.env[name] ?? otherwise);
const SIZE = {
  seconds: numberFrom('SONG_SECONDS', 240),
  tracks: numberFrom('SONG_TRACKS', 32),
  groups: numberFrom('SONG_GROUPS', 12),
  buses: numberFrom('SONG_BUSES', 14),
};
const PATIENCE = 30 * 60_000;
/** How often memory is looked at, ms. */
const LOOK_MS = 200;

/** @param {number} pid @param {string} field */
function statusOf(pid, field) {
  try {
    const [, kilobytes] = new RegExp(`${field}:\\s+(\\d+)`).exec(readFileSync(`/proc/${pid}/status`, 'utf8')) ?? [];
    return Number(kilobytes ?? 0) / 1024;
  } catch {
    return 0;
  }
}

/**
 * Runs a command to its end; how long it took, s, and the most memory it held, MB.
 * @param {string} program @param {string[]} args @returns {Promise<{ seconds: number, peak: number }>}
 */
function taken(program, args) {
  return new Promise((resolve, reject) => {
    const start = performance.now();
    const child = spawn(program, args, { cwd: root, stdio: ['ignore', 'ignore', 'inherit'] });
    let peak = 0;
    const look = setInterval(() => (peak = Math.max(peak, statusOf(child.pid ?? 0, 'VmHWM'))), LOOK_MS);
    child.on('error', reject);
    child.on('close', (code) => {
      clearInterval(look);
      // 1: a guard was not kept, which is not asked about here.
      if (code !== null && code < 2) resolve({ seconds: (performance.now() - start) / 1000, peak });
      else reject(new Error(`${program} ${args.join(' ')} ended with ${code}`));
    });
  });
}

/** @param {string} what @param {{ seconds: number, peak: number }} took */
const tell = (what, { seconds, peak }) =>
  console.log(
    `  ${what.padEnd(44)}${seconds.toFixed(1).padStart(8)} s  ${(seconds / SIZE.seconds).toFixed(2).padStart(6)} of the song  ${peak.toFixed(0).padStart(6)} MB`,
  );

/** @param {string} folder @returns {Promise<string>} path of its session */
async function madeSong(folder) {
  /** @type {typeof import('./reference-song.ts')} */
  const maker = await import(await bundled('reference-song', join(folder, 'maker')));
  return maker.writeReferenceSong(join(folder, 'song'), SIZE);
}

/** @param {string} folder @param {string} session */
async function commandLine(folder, session) {
  await ensureBuilt(console.log);
  const command = ['src/cli/run.mjs', 'print', session, '--json', '--force'];
  const print = (/** @type {string} */ out) => [...command, '--out', join(folder, out)];
  const all = await taken(process.execPath, print('all'));
  tell(`print, ${availableParallelism()} cores`, all);
  if (isThere('taskset') || process.platform === 'linux') {
    const one = await taken('taskset', ['-c', '0', process.execPath, ...print('one')]);
    tell('print, one core', one);
    console.log(`  one core against all: ${(one.seconds / all.seconds).toFixed(2)} times as long`);
    const wavs = readdirSync(join(folder, 'all')).filter((name) => name.endsWith('.wav'));
    const isAlike = wavs.every((name) =>
      readFileSync(join(folder, 'all', name)).equals(readFileSync(join(folder, 'one', name))),
    );
    console.log(`  bytes of the prints: ${isAlike ? 'equal' : 'NOT EQUAL'}`);
  }
  tell('ledger', await taken(process.execPath, ['src/cli/run.mjs', 'ledger', session, '--json']));
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

/** @param {string} folder @param {string} session */
async function app(folder, session) {
  await ensureApp(console.log);
  const server = await preview({ configFile, logLevel: 'error', preview: { host: '127.0.0.1', port: 0 } });
  const executablePath = chromiumAtHand();
  const browser = await chromium.launch({ args: chromiumFlags, ...(executablePath ? { executablePath } : {}) });
  try {
    const page = await browser.newPage({ viewport: { width: 1440, height: 900 } });
    page.setDefaultTimeout(PATIENCE);
    await page.goto(server.resolvedUrls?.local[0] ?? '');
    const cdp = await browser.newBrowserCDPSession();
    const { processInfo } = await cdp.send('SystemInfo.getProcessInfo');
    const pids = processInfo.filter(({ type }) => type === 'renderer').map(({ id }) => id);
    let peak = 0;
    const look = setInterval(() => {
      peak = Math.max(peak, ...pids.map((pid) => statusOf(pid, 'VmRSS')));
    }, LOOK_MS);
    const song = join(folder, 'song');
    const files = readdirSync(song).filter((name) => name.endsWith('.wav'));
    const [chooser] = await Promise.all([
      page.waitForEvent('filechooser'),
      page
        .getByRole('button', { name: /^Open.*session/i })
        .first()
        .click(),
    ]);
    const start = performance.now();
    const since = () => ({ seconds: (performance.now() - start) / 1000, peak });
    await chooser.setFiles([session, ...files.map((name) => join(song, name))]);
    await page
      .getByRole('radio', { name: /^Rough/ })
      .and(page.locator(':enabled'))
      .waitFor();
    tell('app: until the rough can be heard', since());
    await page.getByRole('radio', { name: /^Mix/ }).and(page.locator(':enabled')).waitFor();
    tell('app: until the mix can be heard', since());
    await page
      .getByRole('button', { name: /^Print/ })
      .and(page.locator(':enabled'))
      .waitFor();
    tell('app: until all can be printed', since());
    clearInterval(look);
  } finally {
    await browser.close();
    await new Promise((resolve) => server.httpServer.close(resolve));
  }
}

export async function bench() {
  const folder = mkdtempSync(join(tmpdir(), 'tributary-song-'));
  try {
    const session = await madeSong(folder);
    console.log(`  ${SIZE.seconds} s, ${SIZE.tracks} tracks, ${SIZE.groups} groups, ${SIZE.buses} buses`);
    await commandLine(folder, session);
    await ffmpeg(folder);
    await app(folder, session);
  } finally {
    rmSync(folder, { recursive: true });
  }
}
