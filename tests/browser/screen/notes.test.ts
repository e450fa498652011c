import { expect, test } from 'vitest';
import { page, userEvent } from 'vitest/browser';
import { accessibilityTroubles, lastSession, openSong, settled } from './open-screen.ts';

const view = () => page.getByRole('region', { name: 'Client notes' });

test('notes are typed, ticked off with an answer, and belong to the pass that is saved next', async () => {
  const engine = await openSong();
  await page.getByRole('button', { name: 'Client notes …' }).click();
  await view()
    .getByLabelText(/^One note a line/)
    .fill('0:05-0:08 vocal up\nwider');
  await view().getByRole('button', { name: 'Add notes' }).click();
  await expect.element(view().getByText('2 of 2 open')).toBeVisible();
  await view().getByRole('checkbox', { name: 'Client note 1 is answered' }).click();
  await view().getByLabelText('Answer to client note 1').fill('1 dB up');
  await userEvent.tab();
  expect(lastSession(engine).clientNotes).toMatchObject([
    { text: 'vocal up', startSeconds: 5, endSeconds: 8, done: { pass: null, answer: '1 dB up' } },
    { text: 'wider', startSeconds: null, done: null },
  ]);
  const time = view().getByLabelText(/^Time of client note 2/);
  await time.fill('soon');
  await userEvent.tab();
  await expect.element(time).toHaveValue('');
  await time.fill('0:12');
  await userEvent.tab();
  expect(lastSession(engine).clientNotes[1]!.startSeconds).toBe(12);
  await settled();
  expect(await accessibilityTroubles()).toEqual([]);
  await view().getByRole('button', { name: 'Delete client note 2' }).click();
  await expect.element(view().getByText('all answered')).toBeVisible();
  await page.getByRole('button', { name: /^Undo/ }).click();
  await expect.element(view().getByText('1 of 2 open')).toBeVisible();
});

test('a table that cannot be read is told by its row, and what was typed stays', async () => {
  await openSong();
  await page.getByRole('button', { name: 'Client notes …' }).click();
  const field = view().getByLabelText(/^One note a line/);
  await field.fill('time,note\nsoon,louder');
  await view().getByRole('button', { name: 'Add notes' }).click();
  await expect.element(view().getByRole('alert')).toHaveTextContent('row 2');
  await expect.element(field).toHaveValue('time,note\nsoon,louder');
});
