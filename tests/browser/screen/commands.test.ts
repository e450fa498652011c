import { expect, test } from 'vitest';
import { page, userEvent } from 'vitest/browser';
import { accessibilityTroubles, lastSession, openSong } from './open-screen.ts';

const field = page.getByRole('combobox', { name: /^An action/ });
const options = page.getByRole('option');

/** Looks for words and takes the first that is found. */
const run = async (words: string): Promise<void> => {
  await userEvent.keyboard('{Control>}k{/Control}');
  await expect.element(field).toHaveFocus();
  await field.fill(words);
  await userEvent.keyboard('{Enter}');
  await expect.element(field).not.toBeInTheDocument();
};

test('a processor, a path, a mute and a preset are found by name and done, and undo names them', async () => {
  const engine = await openSong();
  await run('compressor of drum sq');
  await expect.element(page.getByRole('slider', { name: 'Threshold', exact: true })).toBeVisible();
  await run('mute drum squeeze');
  expect(lastSession(engine).buses[0]!.on).toBe(false);
  await expect.element(page.getByRole('button', { name: 'Undo mute Drum squeeze' })).toBeVisible();
  await run('add gate');
  expect(lastSession(engine).buses[0]!.chain.at(-1)).toMatchObject({ processor: 'gate' });
  await run('load preset side spread');
  await expect.element(page.getByRole('button', { name: /^Undo load side spread on Drum squeeze/ })).toBeVisible();
});

test('what can be pressed on the screen is found by the words on it, and keeps the focus', async () => {
  await openSong();
  await run('targets');
  await expect.element(page.getByRole('radio', { name: 'Targets' })).toBeChecked();
  await expect.element(page.getByRole('radio', { name: 'Targets' })).toHaveFocus();
  await run('add bus set');
  await expect.element(page.getByRole('heading', { name: 'Add a bus set' })).toBeVisible();
});

test('arrows choose among what is found, and what is not there is said', async () => {
  await openSong();
  await page.getByRole('button', { name: 'Search everything' }).click();
  await field.fill('listen');
  const second = options.nth(1);
  await userEvent.keyboard('{ArrowDown}');
  await expect.element(second).toHaveAttribute('aria-selected', 'true');
  await expect.element(field).toHaveAttribute('aria-activedescendant', second.element().id);
  expect(await accessibilityTroubles()).toEqual([]);
  await field.fill('nothing like it');
  await expect.element(page.getByText('Nothing found.')).toBeVisible();
  await userEvent.keyboard('{Escape}');
  await expect.element(field).not.toBeInTheDocument();
  await expect.element(page.getByRole('button', { name: 'Search everything' })).toHaveFocus();
});
