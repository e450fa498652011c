import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { writeWav } from '../../src/files/wav/wav-write.ts';
import { added, mono, pinkNoise, sine, stereo } from '../helpers/signals.ts';
import { openApp, type OpenApp } from './open-app.ts';
import { untilPrintable } from './prints.ts';

// A session from its files to its prints by the keyboard alone (WCAG 2.2: 2.1.1, 2.1.2, 2.4.7).

let app: OpenApp;
const folder = mkdtempSync(join(tmpdir(), 'tributary-keyboard-'));
const files = ['drums.wav', 'bass.wav', 'rough.wav'].map((name) => join(folder, name));

beforeAll(async () => {
  const bass = sine({ hz: 110, seconds: 3, db: -24 });
  // Strokes twice a second, so that no guard is broken from the start.
  const strokes = (seed: number): Float32Array =>
    pinkNoise(3, seed, 0.08)
      .slice(0, bass.length)
      .map((x, n) => x * Math.exp((-8 * (n % 24_000)) / 24_000));
  const [left, right] = [strokes(3), strokes(4)];
  const sounds = [stereo(left, right), mono(bass), stereo(added(bass, left), added(bass, right))];
  files.forEach((path, n) => writeFileSync(path, writeWav(sounds[n]!, '24').bytes));
  app = await openApp();
  await app.page.setViewportSize({ width: 1440, height: 900 });
});

afterAll(async () => {
  await app.close();
  rmSync(folder, { recursive: true });
});

interface Focused {
  readonly name: string;
  /** It is told from what has no focus. */
  readonly isMarked: boolean;
}

/** What has the focus; null: the page as a whole, as between its last control and its first. */
const focused = (): Promise<Focused | null> =>
  app.page.evaluate(() => {
    const element = document.activeElement;
    if (!element || element === document.body) return null;
    const { labels } = element as HTMLInputElement;
    const words = element.getAttribute('aria-label') ?? labels?.[0]?.textContent ?? element.textContent;
    const outlined = (each: Element): boolean => getComputedStyle(each).outlineStyle !== 'none';
    const around = [element, ...(labels ?? []), element.parentElement!];
    return { name: words.replace(/\s+/g, ' ').trim(), isMarked: around.some(outlined) };
  });

const press = (...keys: readonly string[]): Promise<void> =>
  keys.reduce((before, key) => before.then(() => app.page.keyboard.press(key)), Promise.resolve());

/** Presses `key` until what is called so has the focus. */
const reach = async (name: RegExp, key = 'Tab'): Promise<void> => {
  const passed: string[] = [];
  while (passed.length < 250) {
    await press(key);
    const now = await focused();
    if (now && !now.isMarked) throw new Error(`${now.name} has the focus and does not show it`);
    if (now && name.test(now.name)) return;
    passed.push(now?.name ?? 'the page');
  }
  throw new Error(`${name} was not reached by ${key}: ${passed.join('; ')}`);
};

const valueText = (): Promise<string | null> =>
  app.page.evaluate(() => document.activeElement!.getAttribute('aria-valuetext'));

/** Does what a search for these words finds first. */
const find = async (words: string): Promise<void> => {
  await press('Control+k');
  await app.page
    .getByRole('combobox', { name: /^An action/ })
    .and(app.page.locator(':focus'))
    .waitFor();
  await app.page.keyboard.type(words);
  await press('Enter');
  await app.page.getByRole('dialog').waitFor({ state: 'detached' });
};

test('files are added, a bus is made, equalised, blended, compared, swept and solved for, a pass kept and printed by keys alone', async () => {
  const { page } = app;
  // Asked for long before the key, which the browser may hear of sooner than of a question sent just before it.
  const choosing = page.waitForEvent('filechooser');
  await reach(/^Add audio$/);
  await press('Enter');
  await (await choosing).setFiles(files);
  await page.getByRole('dialog', { name: 'Assign files' }).waitFor();
  await reach(/^Add 3 files$/);
  await press('Enter');
  await untilPrintable(page);

  await reach(/^\+ Add a group$/);
  await press('Enter');
  await page.getByRole('textbox', { name: 'Name of the new group' }).and(page.locator(':focus')).waitFor();
  await page.keyboard.type('Strings');
  await press('Enter');
  await page.getByRole('button', { name: 'Strings', exact: true }).waitFor();

  await find('add an empty bus');
  await page.getByRole('button', { name: 'New bus', exact: true }).and(page.locator(':focus')).waitFor();
  await find('drums group: open it');
  await find('send drums to new bus');
  await find('new bus bus: open it');
  await press('e');
  await reach(/^Add processor$/);
  await press('Enter');
  await page.getByRole('searchbox').and(page.locator(':focus')).waitFor();
  await page.keyboard.type('eq');
  await press('Enter');
  await reach(/^Band 3, in the picture$/);
  await press('ArrowUp', 'Shift+ArrowUp', 'ArrowRight');
  // From 250 Hz and -2 dB: 1 %, 0.1 dB and ten times that.
  expect(await valueText()).toMatch(/^Frequency 253 Hz, Gain \u22120.9 dB/);

  await press('e');
  await reach(/^Blend of New bus$/);
  await press('Home', 'ArrowUp', 'PageUp');
  expect(await valueText()).toBe('\u221257.0 dB');
  await press('Tab');
  await page.keyboard.type('-14');
  await press('Enter');
  await untilPrintable(page);

  await press('1', '3', 'f');
  await page.getByRole('radio', { name: /^Rough/, checked: true }).waitFor({ state: 'attached' });
  await press('f');

  await find('new bus bus: open it');
  await press('e');
  await reach(/^Effect on the mix$/);
  await press('ArrowRight');
  await reach(/^Sweep New bus$/);
  await press('Enter');
  await page.getByRole('button', { name: 'Sweep again' }).waitFor();
  expect(await focused()).not.toBeNull();

  await reach(/^Figures$/);
  await press('End');
  await press('ArrowRight', 'ArrowRight', 'ArrowRight');
  await reach(/^Find blends$/);
  await press('Enter');
  await page.getByRole('button', { name: 'Preview' }).waitFor();
  await reach(/^Preview$/);
  await press('Enter');
  await page.getByRole('button', { name: 'Apply' }).and(page.locator(':focus')).waitFor();
  await press('Enter');
  await find('save pass');
  await page.getByText('saved', { exact: true }).waitFor();
  await page.reload();
  await page.getByRole('radio', { name: /^Pass 1/ }).waitFor({ state: 'attached' });
  await untilPrintable(page);

  await reach(/^Print …$/);
  await press('Enter');
  await page.getByRole('dialog').waitFor();
  await reach(/^Print$/);
  await press('Enter');
  await page.getByRole('button', { name: 'Download all' }).waitFor();
  await reach(/^Download all$/, 'Shift+Tab');
  const [download] = await Promise.all([page.waitForEvent('download'), press('Enter')]);
  expect(download.suggestedFilename()).toMatch(/\.zip$/);
  await press('Escape');
  await expect.poll(async () => (await focused())?.name).toBe('Print …');
  expect(app.troubles).toEqual([]);
});
