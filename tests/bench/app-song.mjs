// A whole song in the app: what passes until its files can be placed, its rough and mix be heard and all is measured, and the memory of
// the renderer's process with all its workers. made-song.mjs says which song. With SONG_UNTIL=heard it ends once the mix has been heard.
import { readdirSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { tell, withSong } from './made-song.mjs';
import { memoryReader, tellTasks, watchTasks, withApp } from './opened-app.mjs';
import { tellVerdicts, WANTED } from './wanted.mjs';

/** A song may be an hour long, ms. */
const PATIENCE = 30 * 60_000;
/** How long the mix is played while the rest of it is rendered, seconds, and how often it is looked whether it waits. */
const PLAYED_SECONDS = 20;
const LOOKS_A_SECOND = 4;
/** How often memory is looked at, ms: each look stops the app for some time. */
const MEMORY_MS = 1000;

/** The largest renderer's memory from now on. @param {import('playwright').Browser} browser */
async function watchMemory(browser) {
  const memory = await memoryReader(browser);
  let peak = 0;
  let now = 0;
  const look = setInterval(
    () =>
      void memory()
        .then((found) => {
          now = found;
          peak = Math.max(peak, now);
        })
        .catch(() => {}),
    MEMORY_MS,
  );
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

/** @param {import('playwright').Page} page @param {import('playwright').Browser} browser @param {string} address @param {string} session */
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
  await tellTasks(page, 'in all');
  await new Promise((resolve) => setTimeout(resolve, 10_000));
  console.log(`  memory at rest: ${memory.now().toFixed(0)} MB`);
  end();
}

export const bench = () =>
  withSong((_folder, session) =>
    withApp(async ({ page, browser, address }) => {
      page.setDefaultTimeout(PATIENCE);
      await watchTasks(page);
      await openSong(page, browser, address, session);
    }),
  );
