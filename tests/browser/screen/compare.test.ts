import { describe, expect, test } from 'vitest';
import { page, userEvent } from 'vitest/browser';
import { setBlend } from '../../../src/session/edits/edits.ts';
import { savePass } from '../../../src/session/passes/passes.ts';
import type { Session } from '../../../src/session/schema.ts';
import type { FakeEngine } from './fake-engine.ts';
import { fakeSession } from './fake-session.ts';
import { applied, lastSession, openSong, settled } from './open-screen.ts';

const withPasses = (): Session => savePass(setBlend(savePass(fakeSession(), 'First pass'), 'tape', -9), 'Warmer');
const heard = (engine: FakeEngine): unknown => engine.calls.findLast(([name]) => name === 'hear')?.[1];
const compared = (engine: FakeEngine): unknown => engine.calls.findLast(([name]) => name === 'compare')?.[1];
const openMenu = async (): Promise<void> => {
  await page.getByRole('button', { name: 'Compare …' }).click();
  await expect.element(page.getByRole('dialog', { name: 'Compare' })).toBeVisible();
};

/** Opens the tools of a pass. */
const openPass = (name: string): void => {
  const summaries = [...document.querySelectorAll<HTMLElement>('[popover] summary')];
  summaries.find(({ textContent }) => textContent === name)!.click();
};

describe('comparing from keys', () => {
  test('F flips between A and B, A and B hear one of them', async () => {
    const engine = await openSong();
    await userEvent.keyboard('f');
    expect(heard(engine)).toBe('rough');
    await userEvent.keyboard('f');
    expect(heard(engine)).toBe('mix');
    await userEvent.keyboard('a');
    expect(heard(engine)).toBe('rough');
    await userEvent.keyboard('b');
    expect(heard(engine)).toBe('mix');
  });

  test('with shift, what is heard is put into A or B', async () => {
    const engine = await openSong();
    await userEvent.keyboard('2{Shift>}a{/Shift}3f');
    expect(heard(engine)).toBe('received');
    expect(compared(engine)).toEqual(['received', 'mix']);
    await expect.element(page.getByRole('radio', { name: 'Received in A' })).toBeChecked();
  });

  test('4 hears the first pass', async () => {
    const engine = await openSong(withPasses());
    await userEvent.keyboard('5');
    expect(heard(engine)).toBe('pass:warmer');
    await expect.element(page.getByRole('radio', { name: 'Warmer' })).toBeChecked();
    await userEvent.keyboard('4');
    expect(heard(engine)).toBe('pass:first-pass');
  });

  test('W takes the selected path out and puts it back, and says so where none is selected', async () => {
    const engine = await openSong();
    const before = heard(engine);
    await userEvent.keyboard('w');
    await expect.element(page.getByRole('status').getByText(/^Select a path first/)).toBeVisible();
    expect(heard(engine)).toBe(before);
    await page.getByRole('button', { name: 'Tape colour', exact: true }).click();
    await userEvent.keyboard('w');
    expect(heard(engine)).toBe('without:tape');
    await expect
      .element(page.getByRole('button', { name: 'Hear the mix without Tape colour' }))
      .toHaveAttribute('aria-pressed', 'true');
    await userEvent.keyboard('w');
    expect(heard(engine)).toBe('mix');
  });
});

test('a path is taken out from its row, and the session stays as it is', async () => {
  const engine = await openSong();
  const edits = applied(engine);
  await page.getByRole('button', { name: 'Hear the mix without Drum squeeze' }).click();
  expect(heard(engine)).toBe('without:squeeze');
  await expect.element(page.getByRole('radio', { name: 'Without Drum squeeze' })).toBeChecked();
  await page.getByRole('button', { name: 'Hear the mix without Drum squeeze' }).click();
  expect(heard(engine)).toBe('mix');
  expect(applied(engine)).toBe(edits);
});

describe('the compare menu', () => {
  test('lists everything with its level before matching, and puts any of it into A or B', async () => {
    const engine = await openSong(withPasses());
    await openMenu();
    for (const name of ['Rough', 'Received', 'Mix', 'First pass', 'Without Air'])
      await expect.element(page.getByRole('dialog').getByRole('button', { name, exact: true })).toBeVisible();
    await expect.element(page.getByRole('row', { name: /Received/ })).toHaveTextContent('−20.9 LUFS');
    await page.getByRole('button', { name: 'Warmer in A' }).click();
    expect(compared(engine)).toEqual(['pass:warmer', 'mix']);
    await userEvent.keyboard('{Escape}f');
    expect(heard(engine)).toBe('pass:warmer');
  });

  test('a pass is rendered before it is heard, with its progress, and can be called off', async () => {
    const engine = await openSong(withPasses());
    const { comparison, audible } = engine.view;
    const preparing = new Map([['warmer', 0.4]]);
    engine.show({
      audible: audible.filter((side) => side !== 'pass:warmer'),
      comparison: { ...comparison, preparing },
    });
    await userEvent.keyboard('5');
    expect(compared(engine)).toEqual(['rough', 'mix', 'pass:warmer']);
    expect(heard(engine)).toBe('mix');
    await expect.element(page.getByText('rendering Warmer … 40 %')).toBeVisible();
    await openMenu();
    await expect.element(page.getByRole('progressbar', { name: 'Rendering Warmer' })).toHaveAttribute('value', '0.4');
    await page.getByRole('button', { name: 'Cancel Warmer' }).click();
    expect(compared(engine)).toEqual(['rough', 'mix']);
    await userEvent.keyboard('{Escape}5');
    engine.show({ audible, comparison });
    // The screen follows the engine once a frame.
    await expect.poll(() => heard(engine)).toBe('pass:warmer');
  });

  test('the pass saved last stands in the bar, and a click on it waits until it is rendered', async () => {
    const engine = await openSong(withPasses());
    engine.show({ audible: engine.view.audible.filter((side) => side !== 'pass:warmer') });
    const pass = page.getByText('Warmer', { exact: true });
    await pass.click();
    expect(compared(engine)).toEqual(['rough', 'mix', 'pass:warmer']);
    await expect.element(page.getByText('rendering Warmer …')).toBeVisible();
    await expect.element(page.getByRole('radio', { name: /^Mix/ })).toBeChecked();
  });

  test('a pass that cannot be heard says why', async () => {
    const engine = await openSong(withPasses());
    const fault = 'The pass "Warmer" cannot be heard: it needs tracks/old.wav, which is missing: add that file.';
    engine.show({ comparison: { ...engine.view.comparison, faults: new Map([['warmer', fault]]) } });
    await openMenu();
    await expect.element(page.getByText(fault)).toBeVisible();
  });

  test('levels that are not settled are said to be measured', async () => {
    const engine = await openSong();
    engine.show({ comparison: { ...engine.view.comparison, unsettled: new Set(['mix']) } });
    await expect.element(page.getByText('measuring …')).toBeVisible();
  });
});

describe('passes', () => {
  test('the mix is saved as a pass, renamed, taken back in one step, and deleted', async () => {
    const engine = await openSong();
    await openMenu();
    await page.getByLabelText('Name of the pass').fill('Dry');
    await page.getByRole('button', { name: 'Save pass' }).click();
    expect(lastSession(engine).passes.map(({ name }) => name)).toEqual(['Dry']);

    openPass('Dry');
    await page.getByLabelText('Name', { exact: true }).fill('Drier');
    await userEvent.keyboard('{Enter}');
    expect(lastSession(engine).passes[0]!.name).toBe('Drier');
    await userEvent.keyboard('{Escape}');

    await page.getByRole('switch', { name: 'Mute Tape colour' }).click();
    expect(lastSession(engine).buses.find(({ id }) => id === 'tape')!.on).toBe(false);
    await openMenu();
    openPass('Drier');
    await page.getByRole('button', { name: 'Restore pass Drier' }).click();
    expect(lastSession(engine).buses.find(({ id }) => id === 'tape')!.on).toBe(true);
    await userEvent.keyboard('{Escape}{Control>}z{/Control}');
    expect(lastSession(engine).buses.find(({ id }) => id === 'tape')!.on).toBe(false);

    await openMenu();
    openPass('Drier');
    await page.getByRole('button', { name: 'Delete Drier' }).click();
    expect(lastSession(engine).passes).toEqual([]);
  });

  test('a deleted pass leaves the slot and the ears', async () => {
    const engine = await openSong(withPasses());
    await userEvent.keyboard('5{Shift>}b{/Shift}');
    expect(compared(engine)).toEqual(['rough', 'pass:warmer']);
    await openMenu();
    openPass('Warmer');
    await page.getByRole('button', { name: 'Delete Warmer' }).click();
    expect(compared(engine)).toEqual(['rough', 'mix']);
    expect(heard(engine)).toBe('mix');
  });
});

test.each([1280, 1440])('the bar stays within %d pixels, matched or not, with a long side', async (width) => {
  await openSong(withPasses());
  await page.viewport(width, 800);
  await page.getByRole('button', { name: 'Hear the mix without Drum squeeze' }).click();
  const bar = page.getByRole('region', { name: 'Hearing' }).element();
  for (const matched of [true, false]) {
    if (!matched) (page.getByRole('switch', { name: /^Loudness match/ }).element() as HTMLElement).click();
    await settled();
    expect(bar.scrollWidth, `${matched}`).toBeLessThanOrEqual(width);
    const { right } = page.getByText('follow local exposure limits.').element().getBoundingClientRect();
    expect(right).toBeLessThanOrEqual(width);
  }
});
