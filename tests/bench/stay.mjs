// Memory of the app while the demo song is played, jumped through and edited for a long time: STAY_MINUTES, 30 unless said otherwise. What
// is done is drawn from a seed, so that two runs do the same.
import { setTimeout as wait } from 'node:timers/promises';
import { memoryReader, openDemo, settle, withApp } from './opened-app.mjs';
import { tellVerdicts, WANTED } from './wanted.mjs';

const MINUTES = Number(process.env['STAY_MINUTES'] ?? 30);
const PROCESSOR = 'Compressor of Drum squeeze';
const SLIDER = 'Threshold';
/** Rest between two things that are done, and how often is looked at memory, ms. */
const REST_MS = 1500;
const LOOK_MS = 10_000;

/** Numbers 0..1, the same in each run (a linear congruence, from memory). */
function drawn() {
  let state = 2026;
  return () => (state = (state * 1_664_525 + 1_013_904_223) % 2 ** 32) / 2 ** 32;
}

/** @param {readonly number[]} values */
const medianOf = (values) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)] ?? 0;

/** One thing that a user does. @param {import('playwright').Page} page @param {() => number} next */
async function act(page, next) {
  const paused = page.getByRole('button', { name: 'Play', exact: true });
  if ((await paused.count()) > 0) await paused.click();
  const strip = page.getByRole('slider', { name: 'Place in the song', exact: true });
  const knob = page.getByRole('slider', { name: SLIDER, exact: true });
  const what = Math.floor(8 * next());
  if (what < 3) {
    const box = await strip.boundingBox();
    if (box) await page.mouse.click(box.x + box.width * next(), box.y + box.height * 0.7);
  } else if (what === 3) await knob.press(next() < 0.5 ? 'Home' : 'End');
  else if (what === 4) for (let n = 0; n < 8; n++) await knob.press('ArrowRight');
  else if (what === 5) await page.keyboard.press('Control+z');
  else await page.keyboard.press(['1', '3', 'u', 's'][Math.floor(4 * next())] ?? '3');
}

export const bench = () =>
  withApp(async ({ page, browser, address }) => {
    await openDemo(page, address);
    const memory = await memoryReader(browser);
    const client = await page.context().newCDPSession(page);
    await client.send('Performance.enable');
    const look = async () => {
      await client.send('HeapProfiler.collectGarbage');
      const { metrics } = await client.send('Performance.getMetrics');
      const of = (/** @type {string} */ name) => metrics.find((each) => each.name === name)?.value ?? 0;
      return {
        all: await memory(),
        page: of('JSHeapUsedSize') / 1024 ** 2,
        nodes: of('Nodes'),
        listeners: of('JSEventListeners'),
      };
    };
    await settle(page);
    await page.getByRole('button', { name: PROCESSOR, exact: true }).click();
    const next = drawn();
    const looks = [];
    const began = performance.now();
    for (let lookAt = began; performance.now() - began < 60_000 * MINUTES;) {
      await act(page, next);
      await wait(REST_MS);
      if (performance.now() < lookAt) continue;
      lookAt = performance.now() + LOOK_MS;
      const seen = await look();
      looks.push(seen);
      const minutes = ((performance.now() - began) / 60_000).toFixed(1).padStart(6);
      console.log(
        `  ${minutes} min  ${seen.all.toFixed(0).padStart(5)} MB in all, ${seen.page.toFixed(0).padStart(4)} MB of the page, ` +
          `${seen.nodes} nodes, ${seen.listeners} listeners`,
      );
    }
    // The first half fills what is kept for undo and for sounds that were heard before.
    const third = looks.slice(Math.floor(looks.length / 2), Math.floor((3 * looks.length) / 4));
    const last = looks.slice(Math.floor((3 * looks.length) / 4));
    const growth = medianOf(last.map(({ all }) => all)) / medianOf(third.map(({ all }) => all)) - 1;
    tellVerdicts([[WANTED.growth, 100 * growth]]);
  });
