// A whole song in the app: what passes until its files can be placed, its rough and mix be heard and all is measured, and the memory of
// the renderer's process with all its workers. made-song.mjs says which song. With SONG_UNTIL=heard it ends once the mix has been heard.
import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { chromium } from 'playwright';
import { preview } from 'vite';
import { configFile, ensureApp } from '../../src/ui/build-app.mjs';
import { chromiumAtHand, chromiumFlags } from '../find-chromium.mjs';
import { LOOK_MS, memoryOf, tell, withSong } from './made-song.mjs';
import { tellVerdicts, WANTED } from './wanted.mjs';

const PATIENCE = 30 * 60_000;
/** How long the mix is played while the rest of it is rendered, seconds, and how often it is looked whether it waits. */
const PLAYED_SECONDS = 20;
const LOOKS_A_SECOND = 4;

/** Long tasks of a page, ms. @param {import('playwright').Page} page */
const watchTasks = (page) =>
  page.addInitScript(() => {
    /** @type {number[]} */
    const tasks = [];
    Reflect.set(window, 'longTasks', tasks);
    new PerformanceObserver((list) => tasks.push(...list.getEntries().map(({ duration }) => duration))).observe({
      entryTypes: ['longtask'],
    });
  });

/** @param {import('playwright').Page} page */
async function tellTasks(page) {
  /** @type {number[]} */
  const tasks = await page.evaluate(() => Reflect.get(window, 'longTasks').splice(0));
  const longest = Math.max(0, ...tasks);
  console.log(`  tasks of the page over 50 ms: ${tasks.length}, the longest ${longest.toFixed(0)} ms`);
}

/** The largest renderer's memory from now on. @param {import('playwright').Browser | null} browser */
async function watchMemory(browser) {
  const cdp = await browser?.newBrowserCDPSession();
  let peak = 0;
  let now = 0;
  const look = setInterval(() => {
    void cdp
      ?.send('SystemInfo.getProcessInfo')
      .then(({ processInfo }) => {
        const renderers = processInfo.filter(({ type }) => type === 'renderer');
        now = Math.max(0, ...renderers.map(({ id }) => memoryOf(id, 'smaps_rollup', 'Pss')));
        peak = Math.max(peak, now);
      })
      .catch(() => {});
  }, LOOK_MS);
  return { peak: () => peak, now: () => now, end: () => clearInterval(look) };
}

/**
 * Presses a button that asks for files, and gives it some.
 * @param {import('playwright').Page} page @param {RegExp} button @param {string[]} files
 */
async function give(page, button, files) {
  const [chooser] = await Promise.all([
    page.waitForEvent('filechooser'),
    page.getByRole('button', { name: button }).first().click(),
  ]);
  await chooser.setFiles(files);
}

/** Plays from the start, and tells how long it had to wait for what was not rendered yet. @param {import('playwright').Page} page */
async function playWhileRendering(page) {
  const began = performance.now();
  await page.getByRole('button', { name: /^Play/ }).first().click();
  await page
    .getByRole('button', { name: /^Pause/ })
    .first()
    .waitFor();
  console.log(`  from play to playing: ${((performance.now() - began) / 1000).toFixed(1)} s`);
  let waits = 0;
  for (let n = 0; n < PLAYED_SECONDS * LOOKS_A_SECOND; n++) {
    await new Promise((resolve) => setTimeout(resolve, 1000 / LOOKS_A_SECOND));
    waits += Math.min(1, await page.getByText('rendering …', { exact: true }).count());
  }
  console.log(
    `  of ${PLAYED_SECONDS} s of playing, it waited for what was not rendered yet: ${waits / LOOKS_A_SECOND} s`,
  );
  await page
    .getByRole('button', { name: /^Pause/ })
    .first()
    .click();
}

/** @param {import('playwright').Page} page @param {import('playwright').Browser | null} browser @param {string} address @param {string} session */
async function openSong(page, browser, address, session) {
  const song = dirname(session);
  const files = readdirSync(song).flatMap((name) => (name.endsWith('.wav') ? [join(song, name)] : []));
  const memory = await watchMemory(browser);
  let start = 0;
  /** @type {[import('./wanted.mjs').Wanted, number][]} */
  const found = [];
  const reached = (/** @type {string} */ what, /** @type {import('./wanted.mjs').Wanted} */ wanted) => {
    const seconds = (performance.now() - start) / 1000;
    tell(what, { seconds, peak: memory.peak() });
    found.push([wanted, seconds]);
  };
  const end = () => {
    memory.end();
    tellVerdicts([...found, [WANTED.rendererMemory, memory.peak()]]);
  };
  const enabled = (/** @type {'radio' | 'button'} */ role, /** @type {RegExp} */ name) =>
    page.getByRole(role, { name }).and(page.locator(':enabled')).first().waitFor();

  await page.goto(address);
  start = performance.now();
  await give(page, /^Add audio/i, files);
  await page.getByRole('dialog').getByRole('combobox').first().waitFor();
  reached('files given, until they can be placed', WANTED.placed);
  await page.goto(address);
  start = performance.now();
  await give(page, /^Open.*session/i, [session, ...files]);
  await enabled('radio', /^Rough/);
  reached('session given, until the rough can be heard', WANTED.rough);
  await enabled('radio', /^Mix/);
  reached('until the mix can be heard', WANTED.mix);
  await playWhileRendering(page);
  if (process.env['SONG_UNTIL'] === 'heard') return end();
  await enabled('button', /^Print/);
  await page.getByText(/^Measuring \d/).waitFor({ state: 'hidden' });
  reached('until all is measured', WANTED.measured);
  await tellTasks(page);
  await new Promise((resolve) => setTimeout(resolve, 10_000));
  console.log(`  memory at rest: ${memory.now().toFixed(0)} MB`);
  end();
}

export const bench = () =>
  withSong(async (_folder, session) => {
    await ensureApp(console.log);
    const server = await preview({ configFile, logLevel: 'error', preview: { host: '127.0.0.1', port: 0 } });
    const executablePath = chromiumAtHand();
    // A window without a folder of its own would keep what it stores in memory.
    const own = mkdtempSync(join(tmpdir(), 'tributary-browser-'));
    const context = await chromium.launchPersistentContext(own, {
      ...{ args: chromiumFlags, viewport: { width: 1440, height: 900 } },
      ...(executablePath ? { executablePath } : {}),
    });
    try {
      const page = context.pages()[0] ?? (await context.newPage());
      page.setDefaultTimeout(PATIENCE);
      await watchTasks(page);
      page.on('pageerror', (error) => console.log(`  uncaught: ${error.message}`));
      await openSong(page, context.browser(), server.resolvedUrls?.local[0] ?? '', session);
    } finally {
      await context.close();
      await server.close();
      rmSync(own, { recursive: true, force: true });
    }
  });
