// What the page goes through while one processor's slider is dragged: long main-thread tasks, and the renderer's memory.
import { existsSync, readFileSync } from 'node:fs';
import { setTimeout as wait } from 'node:timers/promises';
import { chromium } from 'playwright';
import { preview } from 'vite';
import { configFile, ensureApp } from '../../src/ui/build-app.mjs';
import { chromiumAtHand, chromiumFlags } from '../find-chromium.mjs';

const SECONDS = Number(process.env['DRAG_SECONDS'] ?? 60);
const MOVES_A_SECOND = 50;
const PROFILES = process.env['DRAG_PROFILE'] === 'yes';
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

/** Times of the page by function, ms: of all, and of the longest stretches without a rest. @param {import('playwright').CDPSession} client */
async function profileOf(client) {
  const { profile } = await client.send('Profiler.stop');
  const { samples = [], timeDeltas = [], nodes } = profile;
  const byId = new Map(nodes.map((node) => [node.id, node]));
  /** @type {Map<number, number>} */
  const parents = new Map(nodes.flatMap(({ id, children = [] }) => children.map((child) => [child, id])));
  /** @param {number} id */
  const nameOf = (id) => {
    const frame = byId.get(id)?.callFrame;
    return `${frame?.functionName || '(no name)'} ${frame?.url.split('/').at(-1)}:${(frame?.lineNumber ?? 0) + 1}`;
  };
  /** @param {number} from @param {number} to @param {number} count @param {string} indent */
  const print = (from, to, count, indent) => {
    /** @type {Map<string, { alone: number, whole: number }>} */
    const times = new Map();
    for (let n = from; n < to; n++) {
      const ms = (timeDeltas[n + 1] ?? 0) / 1000;
      const seen = new Set();
      for (let at = samples[n]; at !== undefined; at = parents.get(at)) {
        const name = nameOf(at);
        const time = times.get(name) ?? { alone: 0, whole: 0 };
        if (!seen.has(name)) time.whole += ms;
        if (at === samples[n]) time.alone += ms;
        seen.add(name);
        times.set(name, time);
      }
    }
    for (const key of /** @type {const} */ (['alone', 'whole'])) {
      console.log(`${indent}${key === 'alone' ? 'functions alone' : 'with what they call'}, ms:`);
      const most = [...times].filter(([name]) => !/^\((root|idle)/.test(name)).sort(([, a], [, b]) => b[key] - a[key]);
      for (const [name, time] of most.slice(0, count))
        console.log(`${indent}${time[key].toFixed(0).padStart(7)} ${name}`);
    }
  };
  print(0, samples.length, 40, '  ');
  const stretches = [];
  for (let from = 0; from < samples.length;) {
    let to = from;
    let ms = 0;
    for (; to < samples.length && !/^\((idle|program)/.test(nameOf(samples[to] ?? 0)); to++)
      ms += (timeDeltas[to + 1] ?? 0) / 1000;
    if (to > from) stretches.push({ from, to, ms });
    from = Math.max(to, from + 1);
  }
  for (const { from, to, ms } of stretches.sort((a, b) => b.ms - a.ms).slice(0, 6)) {
    console.log(`  a stretch of ${ms.toFixed(0)} ms`);
    print(from, to, 14, '    ');
  }
}

/** Waits until all that is measured has been measured; looking for a role would itself keep the page busy. @param {import('playwright').Page} page */
async function settle(page) {
  const canPrint = () =>
    [...document.querySelectorAll('button')].some((each) => !each.disabled && /^Print/.test(each.textContent.trim()));
  await page.waitForFunction(canPrint, undefined, { polling: 250, timeout: PATIENCE });
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
    if (PROFILES) await client.send('Profiler.enable');
    const before = await rest();
    let most = 0;
    const watch = setInterval(() => (most = Math.max(most, memory())), 250);
    await tasksOf(page, 'at rest');
    if (PROFILES) await client.send('Profiler.start');
    await drag(page);
    await tasksOf(page, 'dragging');
    if (PROFILES) await profileOf(client);
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
