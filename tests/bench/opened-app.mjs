// The built app in Chromium, as the benches open it.
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { chromium } from 'playwright';
import { preview } from 'vite';
import { configFile, ensureApp } from '../../src/ui/build-app.mjs';
import { chromiumAtHand, chromiumFlags } from '../find-chromium.mjs';
import { memoryOf } from './made-song.mjs';

/** Longest wait for anything in the app, ms. */
export const PATIENCE = 300_000;

/** @typedef {import('playwright').Page} Page */

/**
 * A page of the app's size at its address, with nothing loaded yet. Errors of the page are printed.
 * @param {(opened: { page: Page, browser: import('playwright').Browser, address: string }) => Promise<void>} use
 * @param {import('playwright').BrowserContextOptions} [options]
 */
export async function withApp(use, options = {}) {
  await ensureApp(console.log);
  const server = await preview({ configFile, logLevel: 'error', preview: { host: '127.0.0.1', port: 0 } });
  const executablePath = chromiumAtHand();
  // A window without a folder of its own would keep what it stores in memory.
  const own = mkdtempSync(join(tmpdir(), 'tributary-browser-'));
  const context = await chromium.launchPersistentContext(own, {
    ...{ args: chromiumFlags, viewport: { width: 1440, height: 900 }, ...options },
    ...(executablePath ? { executablePath } : {}),
  });
  try {
    const browser = context.browser();
    const address = server.resolvedUrls?.local[0];
    if (!browser || !address) throw new Error('Chromium or the app could not be opened');
    const page = context.pages()[0] ?? (await context.newPage());
    page.on('pageerror', (error) => console.log(`  uncaught: ${error.message}`));
    await use({ page, browser, address });
  } finally {
    await context.close();
    await server.close();
    rmSync(own, { recursive: true, force: true });
  }
}

/** Opens the demo. @param {Page} page @param {string} address */
export const openDemo = (page, address) => page.goto(new URL('?demo', address).href);

/** Waits until all that is measured has been measured; looking for a role would itself keep the page busy. @param {Page} page */
export async function settle(page) {
  const canPrint = () =>
    [...document.querySelectorAll('button')].some((each) => !each.disabled && /^Print/.test(each.textContent.trim()));
  await page.waitForFunction(canPrint, undefined, { polling: 250, timeout: PATIENCE });
}

/**
 * Memory of the largest renderer with its workers, MB. Its own share is the truer figure (proc(5), Pss), but the process stands still
 * while the system adds it up: where pauses are looked at, all that is resident is taken (VmRSS).
 * @param {import('playwright').Browser} browser @param {boolean} [lightly] all that is resident
 */
export async function memoryReader(browser, lightly = false) {
  const cdp = await browser.newBrowserCDPSession();
  const of = (/** @type {number} */ pid) =>
    lightly ? memoryOf(pid, 'status', 'VmRSS') : memoryOf(pid, 'smaps_rollup', 'Pss');
  return async () => {
    const { processInfo } = await cdp.send('SystemInfo.getProcessInfo');
    return Math.max(0, ...processInfo.flatMap(({ type, id }) => (type === 'renderer' ? [of(id)] : [])));
  };
}

/** Keeps the times of the page's tasks over 50 ms from the start on. @param {Page} page */
export const watchTasks = (page) =>
  page.addInitScript(() => {
    /** @type {number[]} */
    const tasks = [];
    Reflect.set(window, 'longTasks', tasks);
    new PerformanceObserver((list) => tasks.push(...list.getEntries().map(({ duration }) => duration))).observe({
      entryTypes: ['longtask'],
    });
  });

/** Tells the tasks over 50 ms since the last time. @param {Page} page @param {string} what @returns {Promise<number>} how many */
export async function tellTasks(page, what) {
  /** @type {number[]} */
  const tasks = await page.evaluate(() => Reflect.get(window, 'longTasks').splice(0));
  const over = tasks.filter((ms) => ms > 100).length;
  const longest = Math.max(0, ...tasks).toFixed(0);
  console.log(
    `  ${what}: ${tasks.length} tasks of the page over 50 ms, ${over} over 100 ms, the longest ${longest} ms`,
  );
  return tasks.length;
}
