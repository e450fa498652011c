import { describe, expect, test } from 'vitest';
import { page } from 'vitest/browser';
import { accessibilityTroubles, openSong } from './open-screen.ts';

const findings = () => page.getByRole('complementary', { name: 'Findings' });
const asked = (engine: Awaited<ReturnType<typeof openSong>>, kind: string) =>
  engine.calls.filter(([name, question]) => name === 'ask' && (question as { kind: string }).kind === kind);

describe('guards', () => {
  test('a broken guard is counted on the tab and says what it is; a limit is the session’s own once it is set', async () => {
    await openSong();
    await findings().getByText('Guards 1!').click();
    await expect.element(page.getByText(/Width change is 4.2 dB/)).toBeVisible();
    const limit = page.getByRole('textbox', { name: 'Limit of width change' });
    await limit.fill('5');
    (limit.element() as HTMLElement).blur();
    await expect.element(page.getByRole('combobox', { name: 'Limits' })).toHaveValue('own');
    await page.getByRole('combobox', { name: 'Limits' }).selectOptions('gentle');
    await expect.element(limit).toHaveValue('1.5');
    expect(await accessibilityTroubles()).toEqual([]);
  });
});

describe('the sweep of a bus', () => {
  const sweep = async () => {
    const engine = await openSong();
    await page.getByRole('button', { name: 'Tape colour', exact: true }).click();
    await page.getByText('Sweep of its blend').click();
    await page.getByRole('button', { name: 'Sweep Tape colour' }).click();
    return engine;
  };

  test('is asked of the engine for that bus, and tells what guards, hearing and knees say', async () => {
    const engine = await sweep();
    expect(asked(engine, 'sweep').at(-1)![1]).toMatchObject({ axis: { bus: 'tape' } });
    await expect.element(page.getByText('“mono fold loss” breaks above −2.4 dB.')).toBeVisible();
    await expect.element(page.getByText('It is heard from −17.3 dB up.')).toBeVisible();
    expect(await accessibilityTroubles()).toEqual([]);
  });

  test('a blend is picked on the chart', async () => {
    await sweep();
    const chart = page.getByRole('img', { name: /^Crest along the blend/ });
    await expect.element(chart).toBeVisible();
    const { left, width } = chart.element().getBoundingClientRect();
    chart.element().dispatchEvent(new MouseEvent('click', { clientX: left + 0.75 * width, bubbles: true }));
    const blend = page.getByRole('slider', { name: 'Blend of Tape colour' }).element();
    // A pixel of so small a chart is about 0.4 dB.
    await expect.poll(() => Math.abs(Number(blend.getAttribute('aria-valuenow')) + 4.5)).toBeLessThan(0.5);
    await expect.element(page.getByText(/Something else has changed/)).not.toBeInTheDocument();
  });
});

describe('targets', () => {
  test('found blends are heard before they are taken', async () => {
    const engine = await openSong();
    await findings().getByText('Targets').click();
    await page.getByRole('combobox', { name: 'What is asked' }).selectOptions('at least');
    await page.getByRole('button', { name: 'Find blends' }).click();
    expect(asked(engine, 'solve')[0]![1]).toMatchObject({ targets: ['stereo.sideToMidDb>=-9'] });
    await expect.element(page.getByText('Not all targets can be met.')).toBeVisible();
    await page.getByRole('button', { name: 'Hear it' }).click();
    await expect.element(page.getByText(/Tried out, not taken/)).toBeVisible();
    await expect.element(page.getByRole('button', { name: 'Print …' })).toBeDisabled();
    expect(await accessibilityTroubles()).toEqual([]);
    await page.getByRole('button', { name: 'Take it' }).click();
    await expect.element(page.getByText(/Tried out, not taken/)).not.toBeInTheDocument();
    await expect.element(page.getByRole('button', { name: /Undo.*found blends/ })).toBeEnabled();
    // The answer was found for the mix as it was.
    await expect.element(page.getByText('The mix has changed since: find blends again.')).toBeVisible();
    await expect.element(page.getByRole('button', { name: 'Hear it' })).toBeDisabled();
  });
});

describe('bringing up', () => {
  test('every step tells its figures and can be heard; the last word is whether it is kept', async () => {
    const engine = await openSong();
    await page.getByRole('button', { name: 'Bring up …' }).click();
    await expect.element(page.getByRole('row', { name: /all pulled down/ })).toBeVisible();
    await page.getByRole('button', { name: 'Hear', exact: true }).first().click();
    const shut = engine.calls.filter(([name]) => name === 'apply').at(-1)![1] as { buses: { blendDb: number }[] };
    expect(shut.buses.filter(({ blendDb }) => blendDb <= -90).length).toBeGreaterThan(2);
    expect(await accessibilityTroubles()).toEqual([]);
    await page.getByRole('button', { name: 'Back as it was' }).click();
    await expect.element(page.getByRole('row', { name: /all pulled down/ })).not.toBeInTheDocument();
    const last = engine.calls.filter(([name]) => name === 'apply').at(-1)![1] as { buses: { blendDb: number }[] };
    expect(last.buses.some(({ blendDb }) => blendDb <= -90)).toBe(false);
  });
});
