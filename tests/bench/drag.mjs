// What the page goes through while one processor's slider is dragged: long main-thread tasks, and the renderer's memory.
import { existsSync, readFileSync } from 'node:fs';
import { setTimeout as wait } from 'node:timers/promises';
import { chromium } from 'playwright';
import { preview } from 'vite';
import { configFile, ensureApp } from '../../src/ui/build-app.mjs';
import { chromiumAtHand, chromiumFlags } from '../find-chromium.mjs';

const SECONDS = Number(process.env['DRAG_SECONDS'] ?? 60);
const MOVES_A_SECOND = 50;
const PATIENCE = 300_000;
/** The processor's button in the table of paths, and the label of its slider. */
const PROCESSOR = process.env['DRAG_PROCESSOR'] ?? 'Compressor of Drum squeeze';
const SLIDER = process.env['DRAG_SLIDER'] ?? 'Threshold';

/** Resident memory of a process, MB. @param {number} pid */
function residentOf(pid) {
  const file = `/proc/${pid}/status`;
  const [, kilobytes] = (existsSync(file) && /VmRSS:\s+(\d+)/.exec(readFileSync(file, 'utf8'))) || [];
  return Number(kilobytes ?? 0) / 1024;
}

/** @param {import('playwright').Page} page @param {string} what */
async function tasksOf(page, what) {
  const tasks = await page.evaluate(() => Reflect.get(window, 'longTasks').splice(0));
  const longest = Math.max(0, ...tasks);
  const over = tasks.filter((/** @type {number} */ ms) => ms > 100).length;
  console.log(`  ${what}: ${tasks.length} tasks over 50 ms, ${over} over 100 ms, the longest ${longest.toFixed(0)} ms`);
}

/** Waits until all that is measured has been measured. @param {import('playwright').Page} page */
async function settle(page) {
  await page
    .getByRole('button', { name: /^Print/ })
    .and(page.locator(':enabled'))
    .waitFor({ timeout: PATIENCE });
}

/** @param {import('playwright').Page} page */
async function drag(page) {
  const slider = page.getByRole('slider', { name: SLIDER, exact: true });
  await slider.scrollIntoViewIfNeeded();
  const box = await slider.boundingBox();
  if (!box) throw new Error(`there is no slider "${SLIDER}"`);
  const y = box.y + box.height / 2;
  const xAt = (/** @type {number} */ n) => box.x + box.width * (0.5 + 0.35 * Math.sin(n / 20));
  await page.mouse.move(xAt(0), y);
  await page.mouse.down();
  const start = performance.now();
  let moves = 0;
  for (; performance.now() - start < 1000 * SECONDS; moves++) {
    await page.mouse.move(xAt(moves), y);
    await wait(Math.max(0, start + (1000 * (moves + 1)) / MOVES_A_SECOND - performance.now()));
  }
  await page.mouse.up();
  console.log(`  ${moves} moves in ${((performance.now() - start) / 1000).toFixed(1)} s`);
}

export async function bench() {
  await ensureApp(console.log);
  const server = await preview({ configFile, logLevel: 'error', preview: { host: '127.0.0.1', port: 0 } });
  const executablePath = chromiumAtHand();
  const browser = await chromium.launch({ args: chromiumFlags, ...(executablePath ? { executablePath } : {}) });
  try {
    const page = await browser.newPage({ viewport: { width: 1440, height: 900 } });
    page.on('pageerror', (error) => console.log(`  uncaught: ${error.message}`));
    await page.addInitScript(() => {
      /** @type {number[]} */
      const tasks = [];
      Reflect.set(window, 'longTasks', tasks);
      new PerformanceObserver((list) => tasks.push(...list.getEntries().map(({ duration }) => duration))).observe({
        entryTypes: ['longtask'],
      });
    });
    await page.goto(new URL('?demo', server.resolvedUrls?.local[0]).href);
    const cdp = await browser.newBrowserCDPSession();
    const { processInfo } = await cdp.send('SystemInfo.getProcessInfo');
    await settle(page);
    // There may be others, which stand ready for another page.
    const pids = processInfo.filter(({ type }) => type === 'renderer').map(({ id }) => id);
    const pid = pids.sort((a, b) => residentOf(b) - residentOf(a))[0] ?? 0;
    const memory = () => residentOf(pid);
    await page.getByRole('button', { name: PROCESSOR, exact: true }).click();
    await wait(5000);
    await tasksOf(page, 'opening');
    const client = await page.context().newCDPSession(page);
    const rest = async () => {
      await client.send('HeapProfiler.collectGarbage');
      await wait(2000);
      return memory();
    };
    const before = await rest();
    let most = 0;
    const watch = setInterval(() => (most = Math.max(most, memory())), 250);
    await tasksOf(page, 'at rest');
    await drag(page);
    await tasksOf(page, 'dragging');
    await settle(page);
    await wait(5000);
    await tasksOf(page, 'coming to rest');
    clearInterval(watch);
    const after = await rest();
    console.log(
      `  memory: ${before.toFixed(0)} MB before, ${most.toFixed(0)} at most, ${after.toFixed(0)} after ` +
        `(${((100 * after) / before - 100).toFixed(0)} %)`,
    );
  } finally {
    await browser.close();
    await server.close();
  }
}
