import { expect, test } from 'vitest';
import { page } from 'vitest/browser';
import { openSong } from './open-screen.ts';
import { fakeSession } from './fake-session.ts';

const findings = () => page.getByRole('complementary', { name: 'Findings' });
const rowOf = (name: string) => findings().getByRole('row', { name });

test('more figures are shown on demand, each with its definition, when there is none, and its source', async () => {
  await openSong();
  await expect.element(rowOf('Slope')).not.toBeInTheDocument();
  await findings().getByRole('button', { name: 'More figures' }).click();
  await expect.element(rowOf('Slope')).toBeVisible();
  await findings().getByRole('button', { name: 'Lows corr.' }).click();
  await expect.element(page.getByText('Correlation of left and right below 120 Hz, over the whole.')).toBeVisible();
  await expect.element(page.getByText(/None for: a channel has no sound below 120 Hz/)).toBeVisible();
});

test('details are those of the print: before the mix bus there are none, and it says why', async () => {
  await openSong();
  await findings().getByRole('button', { name: 'More figures' }).click();
  await findings().getByText('Before the mix bus').click();
  await expect.element(rowOf('Slope').getByTitle('Measured on the printed mix only').first()).toBeVisible();
});

test('the course over time is read by pointing, and a click goes there', async () => {
  const engine = await openSong();
  await findings().getByText('Over time').click();
  const chart = findings().getByRole('img', { name: 'Loudness over time, mix and rough' });
  await expect.element(chart).toBeVisible();
  const field = chart.element().querySelector('.field')!;
  const { left, top, width } = field.getBoundingClientRect();
  const at = { clientX: left + width / 2, clientY: top + 5, bubbles: true };
  field.dispatchEvent(new PointerEvent('pointermove', at));
  await expect
    .element(
      findings()
        .getByText(/^0:36: −1\d\.\d/)
        .first(),
    )
    .toBeVisible();
  field.dispatchEvent(new MouseEvent('click', at));
  expect(engine.position()).toBeCloseTo(36, 0);
});

test('figures are of the whole song, or of the section in loop as long as there is one', async () => {
  const engine = await openSong();
  const loudness = () => rowOf('Loudness').element().textContent;
  await expect.element(rowOf('Loudness')).toBeVisible();
  const whole = loudness();
  await expect.element(findings().getByRole('radio', { name: /^Loop/ })).not.toBeInTheDocument();
  await page
    .getByRole('group', { name: /^Sections/ })
    .getByRole('button')
    .nth(1)
    .click();
  await findings()
    .getByText(/^Loop, 0:/)
    .click();
  await expect.element(findings().getByText(/^Of the loop, 0:\d\d to 0:\d\d, alone\. Change/)).toBeVisible();
  expect(loudness()).not.toBe(whole);
  const { section } = engine.view.findings;
  engine.show({ findings: { ...engine.view.findings, section: { ...section!, isEarly: true } } });
  await expect.element(findings().getByText(/alone; the whole song is still being rendered/)).toBeVisible();
  engine.show({ findings: { ...engine.view.findings, section: null } });
  await expect.element(findings().getByText('Measuring the loop …')).toBeVisible();
  await page.getByRole('button', { name: 'End the loop' }).click();
  await expect.element(findings().getByText(/^Change: mix minus/)).toBeVisible();
  expect(loudness()).toBe(whole);
});

test('a song as it was dropped, whose mix clips, is pointed to the levels of its rough', async () => {
  const { tracks, groups, ...song } = fakeSession();
  const engine = await openSong({
    ...song,
    tracks: tracks.map((track) => ({ ...track, gainDb: 0 })),
    groups: groups.map((group) => ({ ...group, faderDb: 0 })),
  });
  const { findings: told } = engine.view;
  engine.show({ findings: { ...told, mix: { ...told.mix!, clippedSamples: 12 } } });
  await expect.element(findings().getByText('12 samples of the mix are clipped.')).toBeVisible();
  await findings().getByRole('button', { name: 'Check files' }).click();
  await expect.element(page.getByRole('heading', { name: 'Files as received' })).toBeVisible();
});
