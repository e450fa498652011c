import { describe, expect, test } from 'vitest';
import { page, userEvent, type Locator } from 'vitest/browser';
import type { FakeEngine } from './fake-engine.ts';
import { applied, lastSession, openSong } from './open-screen.ts';

const blendField = () => page.getByRole('textbox', { name: 'Blend of Drum squeeze, dB' });
const blendOf = (engine: FakeEngine): number => lastSession(engine).buses[0]!.blendDb;
const undo = '{Control>}z{/Control}';

describe('the space bar plays after a click', () => {
  const clicked: readonly (readonly [what: string, locator: () => Locator])[] = [
    ['a section', () => page.getByRole('button', { name: 'Bridge' })],
    ['a row', () => page.getByRole('button', { name: 'Drum squeeze', exact: true })],
    ['a tile', () => page.getByRole('button', { name: 'Compressor of Drum squeeze' })],
    ['a switch', () => page.getByRole('switch', { name: 'Guitars on' })],
    ['a label with a switch', () => page.getByText(/^Matched to/)],
    ['a button that opens a popover', () => page.getByRole('button', { name: '4 tracks' })],
  ];
  test.each(clicked)('on %s, and works nothing else', async (_, locator) => {
    const engine = await openSong();
    await locator().click();
    const steps = applied(engine);
    const open = document.querySelectorAll(':popover-open').length;
    await userEvent.keyboard(' ');
    expect(engine.view.playing).toBe(true);
    expect(applied(engine)).toBe(steps);
    expect(document.querySelectorAll(':popover-open')).toHaveLength(open);
  });

  test('also after another key, and after what it opened has closed', async () => {
    const engine = await openSong();
    await page.getByRole('button', { name: 'Drum squeeze', exact: true }).click();
    await userEvent.keyboard('1 ');
    expect(engine.view.playing).toBe(true);
    await page.getByRole('button', { name: 'Add processor' }).click();
    await page.getByRole('dialog').getByRole('button', { name: /^Gain/ }).click();
    await expect.element(page.getByRole('button', { name: 'Add processor' })).toHaveFocus();
    await userEvent.keyboard(' ');
    expect(engine.view.playing).toBe(false);
  });

  test('and keys are not taken by a select that was clicked', async () => {
    const engine = await openSong();
    await page.getByRole('button', { name: '4 tracks' }).click();
    const select = page.getByRole('combobox', { name: 'Group of Shells' }).element() as HTMLElement;
    // Its own list of choices, once open, would keep the keys of the test.
    select.dispatchEvent(new PointerEvent('pointerdown', { bubbles: true }));
    select.focus();
    await userEvent.keyboard('1 ');
    expect(engine.calls).toContainEqual(['hear', 'rough']);
    expect(engine.view.playing).toBe(true);
    expect(applied(engine)).toBe(0);
  });
});

test('a control that is reached by keyboard owns the space bar, also after a click elsewhere', async () => {
  const engine = await openSong();
  await page.getByRole('button', { name: 'Guitars', exact: true }).click();
  await userEvent.keyboard('{Shift>}{Tab}{/Shift} ');
  expect(lastSession(engine).groups[3]!.on).toBe(false);
  expect(engine.view.playing).toBe(false);
});

describe('a number field', () => {
  test('Enter commits and leaves it: the next keys are the song’s', async () => {
    const engine = await openSong();
    await blendField().fill('-7');
    await userEvent.keyboard('{Enter}');
    expect(blendOf(engine)).toBe(-7);
    await expect.element(blendField()).not.toHaveFocus();
    await userEvent.keyboard(' f');
    expect(engine.view.playing).toBe(true);
    expect(engine.calls).toContainEqual(['hear', 'rough']);
    await userEvent.keyboard(undo);
    expect(blendOf(engine)).toBe(-11.5);
  });

  test('Escape restores and leaves it, and closes nothing', async () => {
    const engine = await openSong();
    await page.getByRole('button', { name: 'Drum squeeze', exact: true }).click();
    await blendField().click();
    await userEvent.keyboard('-3{Escape}');
    await expect.element(blendField()).not.toHaveFocus();
    await expect.element(blendField()).toHaveValue('\u221211.5');
    await blendField().click();
    await userEvent.keyboard('{Escape}');
    await expect.element(blendField()).not.toHaveFocus();
    expect(applied(engine)).toBe(0);
    await expect.element(page.getByRole('region', { name: 'Bench: Drum squeeze' })).toBeVisible();
  });

  test('undo in it is the session’s, and what was typed is gone', async () => {
    const engine = await openSong();
    await blendField().fill('-7');
    await userEvent.keyboard('{Enter}');
    await blendField().click();
    await userEvent.keyboard(`-2${undo}`);
    expect(blendOf(engine)).toBe(-11.5);
    await expect.element(blendField()).toHaveValue('\u221211.5');
    await userEvent.keyboard('{Control>}{Shift>}z{/Shift}{/Control}');
    expect(blendOf(engine)).toBe(-7);
    await userEvent.keyboard('{Enter}');
    expect(blendOf(engine)).toBe(-7);
  });

  test('the space bar plays in it until something is typed, and then stands before the unit', async () => {
    const engine = await openSong();
    await blendField().click();
    await userEvent.keyboard(' ');
    expect(engine.view.playing).toBe(true);
    await userEvent.keyboard('-6 dB{Enter}');
    expect(engine.view.playing).toBe(true);
    expect(blendOf(engine)).toBe(-6);
  });

  test('in a popover, Escape puts back what stood there and leaves the popover open', async () => {
    const engine = await openSong();
    await page.getByRole('button', { name: '4 tracks' }).click();
    const pan = page.getByRole('textbox', { name: /^Pan of Hats/ });
    await pan.click();
    await userEvent.keyboard('-30{Escape}');
    await expect.element(pan).toHaveValue('centre');
    await expect.element(page.getByRole('dialog', { name: 'Tracks of Drums' })).toBeVisible();
    await pan.fill('-40');
    await userEvent.keyboard(`{Enter}${undo}`);
    expect(lastSession(engine).tracks.find(({ id }) => id === 'hats')!.pan).toBe(0);
  });
});

test('in a name that is being typed undo is the text’s own, until it is committed', async () => {
  const engine = await openSong();
  const title = page.getByLabelText('Title of the song');
  await title.click();
  await userEvent.keyboard(`{End} again${undo}`);
  expect(applied(engine)).toBe(0);
  await title.fill('High Tide');
  await userEvent.keyboard('{Enter}');
  await expect.element(title).not.toHaveFocus();
  expect(lastSession(engine).title).toBe('High Tide');
  await userEvent.keyboard(undo);
  expect(lastSession(engine).title).toBe('Low Tide');
  await title.fill('Ebb');
  await userEvent.keyboard('{Escape}');
  await expect.element(title).toHaveValue('Low Tide');
});
