import { expect, test } from 'vitest';
import { page, userEvent } from 'vitest/browser';
import { accessibilityTroubles, openSong } from './open-screen.ts';

/** A switch is as small as its label is drawn: it is pressed as such. */
const press = (name: string): void =>
  (page.getByRole('switch', { name, exact: true }).element() as HTMLElement).click();

test('the monitor is put on one check at a time, dimmed, and both are marked while they are on', async () => {
  const engine = await openSong();
  const told = (name: string): unknown => engine.calls.findLast(([call]) => call === name)?.[1];
  await page.getByRole('button', { name: 'Checks …' }).click();
  press('Lows alone');
  expect(told('check')).toBe('lows');
  press('Side alone');
  expect(told('check')).toBe('side');
  expect(await accessibilityTroubles()).toEqual([]);
  press('Dim');
  // 20 dB below the -24 dB at which the monitor begins.
  expect(told('monitor')).toBe(-44);
  await expect.element(page.getByRole('button', { name: 'Side alone, Dim …' })).toBeVisible();
  await userEvent.keyboard('{Escape}');
  await userEvent.keyboard('m');
  expect(told('check')).toBe('mono');
  await expect.element(page.getByRole('switch', { name: 'Mono check' })).toBeChecked();
  await userEvent.keyboard('md');
  expect([told('check'), told('monitor')]).toEqual([null, -24]);
});
