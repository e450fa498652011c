// What the page goes through while a slider is dragged, playing or not: pictures a second, what the main thread works, long tasks, and the
// renderer's memory.
import { setTimeout as wait } from 'node:timers/promises';
import { LOOK_MS } from './made-song.mjs';
import { memoryReader, openDemo, settle, tellTasks, watchTasks, withApp } from './opened-app.mjs';
import { watchWork } from './page-work.mjs';

const SECONDS = Number(process.env['DRAG_SECONDS'] ?? 60);
const MOVES_A_SECOND = 60;
/** The song plays meanwhile. */
const PLAYS = process.env['DRAG_PLAYS'] === 'yes';
const PROFILES = process.env['DRAG_PROFILE'] === 'yes';
/** The processor's button in the table of paths, and the label of its slider. */
const PROCESSOR = process.env['DRAG_PROCESSOR'] ?? 'Compressor of Drum squeeze';
const SLIDER = process.env['DRAG_SLIDER'] ?? 'Threshold';

/** Times between two samples are longer where the machine did something else, microseconds. */
const MOST_DELTA = 2000;

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
      const ms = Math.min(MOST_DELTA, timeDeltas[n + 1] ?? 0) / 1000;
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

/** A hand does not wait for what it moves: moves are sent as long as the page is not more than this behind. */
const MOST_WAITING = 3;

/** @param {import('playwright').Page} page @param {import('playwright').CDPSession} client */
async function drag(page, client) {
  const slider = page.getByRole('slider', { name: SLIDER, exact: true });
  await slider.scrollIntoViewIfNeeded();
  const box = await slider.boundingBox();
  if (!box) throw new Error(`there is no slider "${SLIDER}"`);
  const y = box.y + box.height / 2;
  const xAt = (/** @type {number} */ n) => box.x + box.width * (0.5 + 0.35 * Math.sin(n / 20));
  await page.mouse.move(xAt(0), y);
  await page.mouse.down();
  const held = { button: /** @type {const} */ ('left'), buttons: 1 };
  const start = performance.now();
  let moves = 0;
  let waiting = 0;
  for (; performance.now() - start < 1000 * SECONDS; moves++) {
    if (waiting < MOST_WAITING) {
      waiting++;
      const moved = client.send('Input.dispatchMouseEvent', { ...held, type: 'mouseMoved', x: xAt(moves), y });
      void moved.finally(() => waiting--);
    }
    await wait(Math.max(0, start + (1000 * (moves + 1)) / MOVES_A_SECOND - performance.now()));
  }
  await page.mouse.up();
  console.log(`  ${moves} moves in ${((performance.now() - start) / 1000).toFixed(1)} s`);
}

export const bench = () =>
  withApp(async ({ page, browser, address }) => {
    await watchTasks(page);
    await openDemo(page, address);
    const memory = await memoryReader(browser, true);
    await settle(page);
    await page.getByRole('button', { name: PROCESSOR, exact: true }).click();
    await wait(5000);
    await tellTasks(page, 'opening');
    const client = await page.context().newCDPSession(page);
    const rest = async () => {
      await client.send('HeapProfiler.collectGarbage');
      await wait(2000);
      return memory();
    };
    if (PROFILES) await client.send('Profiler.enable');
    if (PLAYS) await page.getByRole('button', { name: /^Play/ }).first().click();
    const before = await rest();
    let most = 0;
    const watch = setInterval(() => void memory().then((now) => (most = Math.max(most, now))), LOOK_MS);
    await tellTasks(page, 'at rest');
    if (PROFILES) await client.send('Profiler.start');
    const work = await watchWork(browser);
    await drag(page, client);
    await work('dragging');
    await tellTasks(page, 'dragging');
    if (PROFILES) await profileOf(client);
    await settle(page);
    await wait(5000);
    await tellTasks(page, 'coming to rest');
    clearInterval(watch);
    const after = await rest();
    console.log(
      `  memory: ${before.toFixed(0)} MB before, ${most.toFixed(0)} at most, ${after.toFixed(0)} after ` +
        `(${((100 * after) / before - 100).toFixed(0)} %)`,
    );
  });
