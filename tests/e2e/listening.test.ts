import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { writeShortDemo } from '../cli/short-demo.ts';
import { giveFiles, openApp, type OpenApp } from './open-app.ts';

// Some seconds of the demo song, with some of its buses.

let app: OpenApp;
const folder = mkdtempSync(join(tmpdir(), 'tributary-listening-'));

beforeAll(async () => {
  const files = await writeShortDemo(folder, 4);
  app = await openApp();
  await giveFiles(app.page, /^Open.*session/i, files);
  await app.page.getByText(/^Loudness match: /).waitFor();
});

afterAll(async () => {
  await app.close();
  rmSync(folder, { recursive: true });
});

test('a pass is saved, rendered when it is first heard, and matched with all else over a section', async () => {
  const { page } = app;
  await page.getByRole('button', { name: 'Compare …' }).click();
  await page.getByLabel('Name of the pass').fill('As opened');
  await page.getByRole('button', { name: 'Save pass' }).click();
  await page.keyboard.press('Escape');
  // A path is taken down, so that mix and pass differ.
  const stream = page.getByRole('slider', { name: /^Blend of/ }).first();
  await stream.focus();
  await page.keyboard.press('Home');
  await page.keyboard.press('4');
  const pass = page.getByRole('radio', { name: /^As opened/ });
  await pass.waitFor();
  await expect.poll(() => pass.isChecked()).toBe(true);

  await page
    .getByRole('group', { name: /^Sections/ })
    .getByRole('button', { name: 'Chorus' })
    .click();
  await page
    .getByRole('button', { name: /^Hear the mix without/ })
    .first()
    .click();
  await page.keyboard.press('Shift+B');
  await page.getByRole('button', { name: 'Compare …' }).click();
  const shown = page.getByRole('dialog', { name: 'Compare' }).getByText(/LUFS$/);
  // Levels that are still measured are marked.
  let levels: string[] = [];
  const areSettled = async (): Promise<boolean> => {
    levels = await shown.allTextContents();
    return levels.length >= 5 && !levels.some((text) => text.includes('≈'));
  };
  await expect.poll(areSettled).toBe(true);
  const numbers = levels.map((text) => Number(text.replace('\u2212', '-').replace('LUFS', '')));
  expect(numbers.length).toBeGreaterThanOrEqual(5);
  await page.keyboard.press('Escape');
  const matched = await page.getByText(/^Loudness match: /).textContent();
  // Turned down to the quietest, or by up to 2 LU more where all were at that level before.
  const below = Math.min(...numbers) + Number(matched!.match(/[\d.]+/)![0]);
  expect(below).toBeGreaterThan(-0.06);
  expect(below).toBeLessThan(2.06);
  expect(app.troubles).toEqual([]);
});

test('a blind trial is begun, heard, and logged when it is broken off', async () => {
  const { page } = app;
  await page.getByRole('button', { name: 'Compare …' }).click();
  await page.getByRole('button', { name: 'Blind trial …' }).click();
  await page.getByLabel('Side B').selectOption({ label: 'As opened' });
  await page.getByRole('button', { name: 'Start' }).click();
  await page.getByText(/^Trial 1 of 16/).waitFor();
  await page.keyboard.type('abx1');
  await page.getByText(/^Trial 2 of 16/).waitFor();
  await page.getByRole('button', { name: 'Stop trial' }).click();
  await page.getByText('Stopped after 1 of 16: no result.').first().waitFor();
  await page.getByRole('button', { name: 'Close', exact: true }).click();
  expect(await page.getByRole('button', { name: /^Undo/ }).getAttribute('title')).toContain('log a blind trial');
  expect(app.troubles).toEqual([]);
});
