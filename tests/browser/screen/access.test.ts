import { describe, expect, test } from 'vitest';
import { page } from 'vitest/browser';
import { savePass } from '../../../src/session/passes.ts';
import { fakeSession } from './fake-session.ts';
import { accessibilityTroubles, audioFile, drop, openEmpty, openSong, settled } from './open-screen.ts';

const stands = async (what: () => Promise<unknown>): Promise<void> => {
  await what();
  await settled();
  expect(await accessibilityTroubles()).toEqual([]);
};

describe.each(['light', 'dark'] as const)('the accessibility rules object to nothing, %s', (theme) => {
  const show = async (open: () => Promise<unknown>): Promise<void> => {
    await open();
    document.documentElement.dataset['theme'] = theme;
  };

  test('on the empty bench', () => stands(() => show(openEmpty)));

  test('on a whole song', () => stands(() => show(openSong)));

  test('on the editor of a processor', () =>
    stands(async () => {
      await show(openSong);
      await page.getByRole('button', { name: 'Compressor of Drum squeeze' }).click();
    }));

  test('on what a path does', () =>
    stands(async () => {
      await show(openSong);
      await page.getByRole('button', { name: 'Tape colour', exact: true }).click();
    }));

  test('on all figures, the meaning of one, and their courses over time', () =>
    stands(async () => {
      await show(openSong);
      await page.getByRole('button', { name: 'More figures' }).click();
      await page.getByRole('button', { name: 'Onset dB' }).click();
      await expect.element(page.getByText(/Power that third octaves gain/)).toBeVisible();
      await page.getByText('Over time').click();
      await expect.element(page.getByRole('img', { name: 'Correlation over time, mix and rough' })).toBeVisible();
    }));

  test('on missing files, unmatched listening and a notice', () =>
    stands(async () => {
      await show(() => openSong(undefined, ['rough.wav', 'tracks/kick.wav']));
      (page.getByRole('switch', { name: 'Loudness matched' }).element() as HTMLElement).click();
      drop(new File(['?'], 'notes.txt'));
      await expect.element(page.getByRole('alert')).toBeVisible();
    }));

  test('on the tracks of a group', () =>
    stands(async () => {
      await show(openSong);
      await page.getByRole('button', { name: '4 tracks' }).click();
    }));

  test('on the sends of a bus', () =>
    stands(async () => {
      await show(openSong);
      await page.getByRole('button', { name: /Drums 0/ }).click();
    }));

  test('on the sections, and a loop that can be kept', () =>
    stands(async () => {
      await show(openSong);
      await page.getByRole('button', { name: 'Verse', exact: true }).click();
      await page.getByRole('button', { name: 'Bridge', exact: true }).click({ modifiers: ['Shift'] });
      await page.getByRole('button', { name: 'Sections …' }).click();
      await expect.element(page.getByRole('button', { name: /^Keep the loop/ })).toBeVisible();
    }));

  test('on the print dialogue', () =>
    stands(async () => {
      await show(openSong);
      await page.getByRole('button', { name: 'Print …' }).click();
      await page.getByRole('button', { name: 'Print', exact: true }).click();
      await expect.element(page.getByRole('button', { name: 'Print again' })).toBeVisible();
    }));

  test('on all that can be compared, with the tools of a pass', () =>
    stands(async () => {
      await show(() => openSong(savePass(fakeSession(), 'First pass')));
      await page.getByRole('button', { name: 'Hear the mix without Tape colour' }).click();
      await page.getByRole('button', { name: 'Compare …' }).click();
      document.querySelector<HTMLElement>('[popover] summary')!.click();
    }));

  test('on a blind trial: planned, held, broken off', async () => {
    await show(openSong);
    await page.getByRole('button', { name: 'Compare …' }).click();
    await stands(() => page.getByRole('button', { name: 'Blind trial …' }).click());
    await stands(() => page.getByRole('button', { name: 'Start' }).click());
    await stands(() => page.getByRole('button', { name: 'Stop trial' }).click());
  });

  test('on the question where files go', () =>
    stands(async () => {
      await show(openSong);
      drop(audioFile('Shaker.wav'));
      await expect.element(page.getByRole('dialog', { name: 'Assign files' })).toBeVisible();
    }));
});
