import { expect, test } from 'vitest';
import { cleanup } from 'vitest-browser-svelte';
import { page, userEvent } from 'vitest/browser';
import { accessibilityTroubles, openSong } from './open-screen.ts';

const bench = () => page.getByRole('region', { name: 'Workbench: Drum squeeze' });
const openBench = async (): Promise<void> => {
  await openSong();
  await page.getByRole('button', { name: 'Drum squeeze', exact: true }).click();
};

test('panels are resized by keys and folded, and are so again the next time', async () => {
  await openBench();
  const before = bench().element().clientHeight;
  (page.getByRole('separator', { name: 'Height of the workbench' }).element() as HTMLElement).focus();
  await userEvent.keyboard('{ArrowDown}{ArrowDown}');
  await expect.poll(() => bench().element().clientHeight).toBe(before - 40);
  await page.getByRole('button', { name: 'Fold the findings away' }).click();
  await page.getByRole('button', { name: 'Fold the song strip', exact: true }).click();
  await expect.element(page.getByRole('complementary', { name: 'Findings' })).not.toBeInTheDocument();
  expect(await accessibilityTroubles()).toEqual([]);
  cleanup();
  await openBench();
  expect(bench().element().clientHeight).toBe(before - 40);
  await expect.element(page.getByRole('complementary', { name: 'Findings' })).not.toBeInTheDocument();
  await page.getByRole('button', { name: 'Findings', exact: true }).click();
  await expect.element(page.getByRole('complementary', { name: 'Findings' })).toBeVisible();
  await expect.element(page.getByRole('button', { name: 'Unfold the song strip' })).toBeVisible();
});
