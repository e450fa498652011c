import { expect, test } from 'vitest';
import { page, userEvent } from 'vitest/browser';
import type { FakeEngine } from './fake-engine.ts';
import { accessibilityTroubles, lastSession, openSong, settled } from './open-screen.ts';

const solos = (engine: FakeEngine): unknown[] => engine.calls.filter(([name]) => name === 'solo').map(([, ids]) => ids);
const bar = () => page.getByRole('region', { name: 'Hearing' });

test('a path is soloed by its button and by S, and Shift S or the bar ends every solo', async () => {
  const engine = await openSong();
  await page.getByRole('button', { name: 'Solo Drums', exact: true }).click();
  await page.getByRole('button', { name: 'Guitars', exact: true }).click();
  await userEvent.keyboard('s');
  expect(solos(engine)).toEqual([['drums'], ['drums', 'guitars']]);
  await expect.element(bar().getByText('Solo: Drums, Guitars')).toBeVisible();
  await expect.element(page.getByText(/figures and guards are of Drums, Guitars alone/)).toBeVisible();
  await settled();
  expect(await accessibilityTroubles()).toEqual([]);
  await userEvent.keyboard('{Shift>}s{/Shift}');
  expect(solos(engine).at(-1)).toEqual([]);
  await userEvent.keyboard('s');
  await bar()
    .getByRole('button', { name: /^Solo: Guitars/ })
    .click();
  expect(solos(engine).slice(-2)).toEqual([['guitars'], []]);
  await expect.element(bar().getByText(/^Solo:/)).not.toBeInTheDocument();
});

test('U mutes the selected path, and the session has no trace of a solo', async () => {
  const engine = await openSong();
  await page.getByRole('button', { name: 'Guitars', exact: true }).click();
  await userEvent.keyboard('su');
  expect(lastSession(engine).groups.find(({ id }) => id === 'guitars')!.on).toBe(false);
  expect(JSON.stringify(lastSession(engine))).not.toContain('"solo"');
});

test('a track has channels, polarity by side, a start in samples, a solo and sends', async () => {
  const engine = await openSong();
  await page.viewport(1280, 720);
  await page.getByRole('button', { name: '4 tracks' }).click();
  const kick = () => lastSession(engine).tracks.find(({ id }) => id === 'kick')!;
  await page.getByRole('button', { name: /^More of Kick/ }).click();
  await page.getByRole('combobox', { name: 'Channels of Kick' }).selectOptions('sum');
  await page.getByRole('combobox', { name: 'Polarity of Kick' }).selectOptions('right inverted');
  await page.getByText('Show start times in samples').click();
  await page.getByRole('textbox', { name: 'Kick starts at, samples' }).fill('37');
  await userEvent.keyboard('{Enter}');
  expect(kick()).toMatchObject({ channels: 'sum', polarity: 'right inverted' });
  expect(kick().offsetSeconds * lastSession(engine).sampleRate).toBeCloseTo(37, 9);
  await page.getByRole('button', { name: 'Solo Kick', exact: true }).click();
  expect(solos(engine)).toEqual([['kick']]);
  await page.getByRole('combobox', { name: 'Send Kick to' }).selectOptions('Tape colour');
  const level = page.getByRole('textbox', { name: 'Send from Kick to Tape colour' });
  await level.fill('-9');
  await userEvent.keyboard('{Enter}');
  await page.getByRole('combobox', { name: 'Tap of the send from Kick to Tape colour' }).selectOptions('pre-fader');
  expect(kick().sends).toEqual([{ to: 'tape', levelDb: -9, tap: 'pre-fader', on: true }]);
  await settled();
  expect(await accessibilityTroubles()).toEqual([]);
  const box = page.getByRole('dialog', { name: 'Tracks of Drums' }).element().getBoundingClientRect();
  expect(box.right).toBeLessThanOrEqual(1280);
  expect(box.bottom).toBeLessThanOrEqual(720);
  const dialog = page.getByRole('dialog', { name: 'Tracks of Drums' }).element();
  expect(dialog.scrollWidth).toBeLessThanOrEqual(dialog.clientWidth);
  await page.getByRole('button', { name: 'Chain of Kick: empty' }).click();
  await expect.element(page.getByRole('region', { name: 'Workbench: Kick' })).toBeVisible();
  await page.getByRole('button', { name: 'Add processor' }).click();
  await page.getByRole('dialog').getByRole('button', { name: /^Gain/ }).click();
  expect(kick().chain.map(({ id }) => id)).toEqual(['gain']);
});

test('what feeds a bus may be a track or the rough, which is then told of', async () => {
  const engine = await openSong();
  await page
    .getByRole('button', { name: /^Drums 0/ })
    .first()
    .click();
  const dialog = page.getByRole('dialog');
  const add = dialog.getByRole('combobox', { name: 'Add a send from' });
  await add.selectOptions('Rough');
  await add.selectOptions('Kick');
  await expect.element(dialog.getByText(/contains the rough mix/)).toBeVisible();
  const { rough, tracks } = lastSession(engine);
  expect(rough!.sends).toHaveLength(1);
  expect(tracks.find(({ id }) => id === 'kick')!.sends).toHaveLength(1);
  await dialog.getByRole('button', { name: 'Chain of the rough' }).click();
  await expect.element(page.getByRole('region', { name: 'Workbench: Rough' })).toBeVisible();
  await settled();
  expect(await accessibilityTroubles()).toEqual([]);
});

test('the trim is set so that the sum leaves the headroom that is asked for', async () => {
  const engine = await openSong();
  const peak = engine.view.findings.beforeMixBus!.truePeakDbtp!;
  await page.getByRole('button', { name: /^headroom/ }).click();
  await page.getByRole('textbox', { name: 'Headroom to leave' }).fill('10');
  await userEvent.keyboard('{Enter}');
  await page.getByRole('button', { name: 'Set the trim to leave' }).click();
  expect(lastSession(engine).mixBus.trimDb).toBeCloseTo(-10 - peak, 1);
});
