import { expect, test } from 'vitest';
import { page } from 'vitest/browser';
import { allItems } from '../../../src/session/chain/chain-items.ts';
import { receivedPlace } from '../../../src/session/received-balance.ts';
import { fakeSession } from './fake-session.ts';
import { accessibilityTroubles, lastSession, openSong, settled } from './open-screen.ts';

const view = () => page.getByRole('region', { name: 'Files as received' });

const open = async () => {
  const engine = await openSong();
  await page.getByRole('button', { name: 'Check files …' }).click();
  await expect.element(view().getByRole('heading', { name: 'The rough by its tracks' })).toBeVisible();
  return engine;
};

test('files are checked once the page is opened, and what is found stands beside each track', async () => {
  const engine = await open();
  const asked = engine.calls.filter(([name]) => name === 'receive');
  expect(asked).toHaveLength(1);
  const { tracks, rough } = asked[0]![1] as { tracks: unknown[]; rough: unknown[] };
  expect(tracks).toHaveLength(fakeSession().tracks.length);
  expect(rough[0]).toBe('rough.wav');
  await expect.element(view().getByText('The rough is 480 samples late.')).toBeVisible();
  await expect.element(view().getByRole('row', { name: /^Kick/ })).toHaveTextContent('−3.0 ± 0.04');
  await settled();
  expect(await accessibilityTroubles()).toEqual([]);
});

test('all safe fixes are one step, and each can be made alone', async () => {
  const engine = await open();
  const [first, second] = fakeSession().tracks;
  await view().getByRole('button', { name: 'Apply all 2 safe fixes' }).click();
  const mended = lastSession(engine);
  expect(mended.tracks[0]!.polarity).not.toBe(first!.polarity);
  expect(allItems(mended.tracks[1]!.chain)).toHaveLength(allItems(second!.chain).length + 1);
  await expect.element(view().getByText('Changed since the check.').first()).toBeVisible();
  // Also when the page is left and opened again.
  await page.getByRole('button', { name: 'Back to the paths' }).click();
  await page.getByRole('button', { name: 'Check files …' }).click();
  await expect.element(view().getByText('Changed since the check.').first()).toBeVisible();
  await page.getByRole('button', { name: /^Undo/ }).click();
  expect(lastSession(engine).tracks[0]!.polarity).toBe(first!.polarity);
  await expect.element(view().getByRole('button', { name: 'Apply all 2 safe fixes' })).toBeVisible();
});

test('the balance of the rough is heard as a preview before it is taken', async () => {
  const engine = await open();
  const before = fakeSession().tracks;
  await view().getByRole('button', { name: 'Preview this balance' }).click();
  expect(lastSession(engine).tracks.map(({ gainDb }) => gainDb)).toEqual(before.map((_, n) => -3 - n));
  expect(lastSession(engine).rough!.offsetSeconds).toBeCloseTo(-0.01, 9);
  await page.getByRole('button', { name: 'Discard' }).click();
  expect(lastSession(engine).tracks.map(({ gainDb }) => gainDb)).toEqual(before.map(({ gainDb }) => gainDb));
  // The button is gone; letters are keys of the song, so the focus does not fall into a field for text.
  await expect.poll(() => document.activeElement?.tagName).toBe('BUTTON');
});

test('what the tracks leave of the rough is heard as a preview; the received balance is as its tracks stand', async () => {
  const engine = await open();
  const [track] = fakeSession().tracks;
  expect(receivedPlace(fakeSession(), track!.id)).toMatchObject({ gainDb: track!.gainDb, pan: track!.pan });
  await expect
    .element(view().getByRole('button', { name: 'Set it to the tracks’ levels and pans now' }))
    .toBeDisabled();
  await view().getByRole('button', { name: 'Preview what is left' }).click();
  expect(lastSession(engine).buses.map(({ name }) => name)).toEqual(['Rough']);
  await page.getByRole('button', { name: 'Discard' }).click();
  expect(lastSession(engine).buses).toHaveLength(fakeSession().buses.length);
});

test('what is guessed is set by hand only', async () => {
  const engine = await open();
  expect(fakeSession().tempo).not.toBe(56);
  await view().getByRole('button', { name: 'Set tempo to 56.0' }).click();
  expect(lastSession(engine).tempo).toBe(56);
  await view()
    .getByRole('button', { name: /sections$/ })
    .click();
  expect(lastSession(engine).sections.map(({ name }) => name)).toEqual(['Part 1', 'Part 2']);
  await page.getByRole('button', { name: 'Back to the paths' }).click();
  await expect.element(page.getByRole('button', { name: 'Check files …' })).toBeVisible();
});
