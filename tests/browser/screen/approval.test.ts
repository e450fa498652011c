import { expect, test } from 'vitest';
import { page } from 'vitest/browser';
import { accessibilityTroubles, openSong, settled } from './open-screen.ts';

test('an approval page is made of two versions or more', async () => {
  const engine = await openSong();
  await page.getByRole('button', { name: 'Compare …' }).click();
  await page.getByRole('button', { name: 'Approval page …' }).click();
  const dialog = page.getByRole('dialog', { name: 'Approval page' });
  await dialog.getByText(/^Hide names/).click();
  await settled();
  expect(await accessibilityTroubles()).toEqual([]);
  await dialog.getByRole('button', { name: 'Make page' }).click();
  await expect.element(dialog.getByText(/^Saved as .* - versions.html/)).toBeVisible();
  const asked = engine.calls.findLast(([name]) => name === 'ask')![1] as {
    kind: string;
    sides: string[];
    isBlind: boolean;
  };
  expect(asked).toMatchObject({ kind: 'approval', isBlind: true });
  expect(asked.sides.length).toBeGreaterThanOrEqual(2);
  for (const box of dialog.getByRole('checkbox').all()) await box.click();
  await expect.element(dialog.getByRole('button', { name: 'Make page' })).toBeDisabled();
});
