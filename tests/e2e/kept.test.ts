import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Page } from 'playwright';
import { afterAll, beforeAll, expect, inject, test } from 'vitest';
import { writeWav } from '../../src/files/wav/wav-write.ts';
import { mono, sine, stereo } from '../helpers/signals.ts';
import { casesOf, seedOf } from '../helpers/soak.ts';
import { seeded } from '../helpers/signals.ts';
import { freshProfile, startBrowser, type KillableBrowser } from './killable-browser.ts';
import { accessibilityTroubles, giveFiles } from './open-app.ts';
import { untilPrintable } from './prints.ts';

// What is kept on the device, in a browser whose profile lies on disk. Each test goes on where the last one ended.

/** What may be lost, ms. */
const MAY_BE_LOST_MS = 1000;
const ROUNDS = casesOf(2, 20);

const folder = mkdtempSync(join(tmpdir(), 'tributary-kept-'));
const profile = freshProfile();
let browser: KillableBrowser;

const openPage = async (): Promise<Page> => {
  const page = await browser.context.newPage();
  page.setDefaultTimeout(0);
  await page.goto(inject('baseUrl'));
  return page;
};
const title = (page: Page) => page.getByRole('textbox', { name: 'Title of the song' });
const blend = (page: Page) => page.getByRole('slider', { name: /^Fader of Bass/ }).first();
const saved = (page: Page): Promise<void> => page.getByText('saved', { exact: true }).waitFor();

beforeAll(async () => {
  const tone = sine({ hz: 220, seconds: 2, db: -12 });
  writeFileSync(join(folder, 'bass.wav'), writeWav(mono(tone), '24').bytes);
  writeFileSync(join(folder, 'rough.wav'), writeWav(stereo(tone, tone), '32f').bytes);
  browser = await startBrowser(profile);
  const page = await openPage();
  await giveFiles(
    page,
    /^Add audio$/,
    ['bass.wav', 'rough.wav'].map((name) => join(folder, name)),
  );
  await page.getByRole('button', { name: 'Add 2 files' }).click();
  await saved(page);
  await page.close();
});

afterAll(async () => {
  await browser.kill();
  for (const each of [folder, profile]) rmSync(each, { recursive: true, maxRetries: 5 });
});

test('a browser that is killed at any moment loses at most what was done in the last second, and opens with the rest', async () => {
  const draw = seeded(seedOf(29));
  let page = await openPage();
  for (let round = 0; round < ROUNDS; round++) {
    await untilPrintable(page);
    await blend(page).focus();
    const lasts = 400 + draw() * 1500;
    const done: { readonly at: number; readonly value: string | null }[] = [];
    const look = async (): Promise<void> => {
      const at = Date.now();
      done.push({ at, value: await blend(page).getAttribute('aria-valuenow') });
    };
    await look();
    const end = Date.now() + lasts;
    while (Date.now() < end) {
      // Down and up again, so that no end of the way is met.
      await page.keyboard.press(draw() < 0.5 && done.length % 2 ? 'PageDown' : 'ArrowDown');
      await look();
      if (done.length % 12 === 0) await page.keyboard.press('Home');
    }
    const killed = Date.now();
    await browser.kill();
    browser = await startBrowser(profile);
    page = await openPage();
    const found = await blend(page).getAttribute('aria-valuenow');
    const oldest = done.findLast(({ at }) => at < killed - MAY_BE_LOST_MS) ?? done[0]!;
    const possible = done.slice(done.indexOf(oldest)).map(({ value }) => value);
    expect(possible, `round ${round}, killed after ${Math.round(lasts)} ms`).toContain(found);
    // The sound is there too: nothing is asked for.
    expect(await page.getByRole('region', { name: 'Missing audio' }).count()).toBe(0);
  }
  await untilPrintable(page);
  await page.getByRole('button', { name: /^Undo/ }).click();
  await page.getByRole('button', { name: /^Redo/ }).waitFor();
  await saved(page);
});

test('a second tab is to be read only until it takes the session over; then the first one is', async () => {
  const first = browser.context.pages().at(-1)!;
  const second = await openPage();
  await second.getByText(/open in another tab/).waitFor();
  await blend(second).focus();
  const before = await blend(second).getAttribute('aria-valuenow');
  await second.keyboard.press('ArrowDown');
  expect(await blend(second).getAttribute('aria-valuenow')).toBe(before);
  await title(first).fill('Written at the last moment');
  await title(first).press('Enter');
  await second.getByRole('button', { name: 'Take over' }).click();
  await expect.poll(() => title(second).inputValue()).toBe('Written at the last moment');
  await first.getByText(/open in another tab/).waitFor();
  await blend(second).focus();
  await second.keyboard.press('ArrowDown');
  expect(await blend(second).getAttribute('aria-valuenow')).not.toBe(before);
  await saved(second);
  await first.close();
});

test('the start page lists what is kept: a copy is made, its space freed, and it is deleted', async () => {
  const page = browser.context.pages().at(-1)!;
  await page.getByRole('button', { name: 'Sessions' }).click();
  const row = (name: string) => page.getByRole('row', { name: new RegExp(`^Open ${name}`) });
  await row('Written at the last moment').getByText('open here').waitFor();
  await page.getByRole('button', { name: 'Duplicate Written at the last moment' }).click();
  const copy = row('Written at the last moment copy');
  await copy.waitFor();
  expect(await accessibilityTroubles(page)).toEqual([]);
  // Its files are the other one's too, so nothing goes but their names.
  await copy.getByRole('button', { name: /^Free space/ }).click();
  await page.getByRole('dialog').getByRole('button', { name: 'Free space' }).click();
  await expect.poll(() => copy.getByRole('button', { name: /^Free space/ }).isDisabled()).toBe(true);
  await copy.getByRole('button', { name: /^Open/ }).click();
  await page.getByRole('region', { name: 'Missing audio' }).waitFor();
  await page.getByRole('button', { name: 'Sessions' }).click();
  await page.getByRole('button', { name: 'Open Written at the last moment', exact: true }).click();
  await untilPrintable(page);
  await page.getByRole('button', { name: 'Sessions' }).click();
  await copy.getByRole('button', { name: /^Delete/ }).click();
  await page.getByRole('dialog').getByRole('button', { name: 'Delete' }).click();
  await expect.poll(() => copy.count()).toBe(0);
  await page.getByRole('button', { name: /^Back to/ }).click();
  await title(page).waitFor();
});
