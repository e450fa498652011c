import { describe, expect, test } from 'vitest';
import { page, userEvent, type Locator } from 'vitest/browser';
import type { FakeEngine } from './fake-engine.ts';
import { fakeSession } from './fake-session.ts';
import { applied, lastSession, openSong } from './open-screen.ts';

const blendField = () => page.getByRole('textbox', { name: 'Blend of Drum squeeze, dB' });
const blendOf = (engine: FakeEngine): number => lastSession(engine).buses[0]!.blendDb;
const undo = '{Control>}z{/Control}';

describe('the space bar plays after a click', () => {
  const clicked: readonly (readonly [what: string, locator: () => Locator])[] = [
    ['a section', () => page.getByRole('button', { name: 'Bridge' })],
    ['a row', () => page.getByRole('button', { name: 'Drum squeeze', exact: true })],
    ['a tile', () => page.getByRole('button', { name: 'Compressor of Drum squeeze' })],
    ['a switch', () => page.getByRole('switch', { name: 'Mute Guitars' })],
    ['a label with a switch', () => page.getByText(/^Loudness match: /)],
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
    await blendField().click();
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
    await expect.element(page.getByRole('region', { name: 'Workbench: Drum squeeze' })).toBeVisible();
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

describe('the focus', () => {
  const tile = (name: string) => page.getByRole('button', { name: `${name} of Drum squeeze`, exact: true });
  const line = (name: string) =>
    page
      .getByRole('region', { name: 'Workbench: Drum squeeze' })
      .getByRole('listitem')
      .getByRole('button', { name, exact: true });
  const rowName = (name: string) =>
    page.getByRole('region', { name: 'Paths' }).getByRole('button', { name, exact: true });
  const focus = (locator: Locator): void => (locator.element() as HTMLElement).focus();
  const order = (engine: FakeEngine): string[] => lastSession(engine).buses[0]!.chain.map(({ id }) => id);
  const redo = '{Control>}{Shift>}z{/Shift}{/Control}';

  test('goes from a row to its editor by E, and back', async () => {
    await openSong();
    focus(tile('Compressor'));
    await userEvent.keyboard('e');
    await expect.element(page.getByRole('region', { name: 'Workbench: Drum squeeze' })).toBeVisible();
    expect(document.activeElement!.closest('.parameters')).not.toBeNull();
    await userEvent.keyboard('e');
    await expect.element(tile('Compressor')).toHaveFocus();
    focus(rowName('Side spread'));
    await userEvent.keyboard('e');
    expect(document.activeElement!.closest('[aria-label="Workbench: Side spread"]')).not.toBeNull();
    await userEvent.keyboard('e');
    await expect.element(rowName('Side spread')).toHaveFocus();
  });

  test('comes back from a dialog, and never falls to the page when one view takes the place of another', async () => {
    await openSong();
    const print = page.getByRole('button', { name: /^Print …/ });
    focus(print);
    await userEvent.keyboard('{Enter}');
    await page.getByRole('dialog').getByRole('button', { name: 'Close', exact: true }).click();
    await expect.element(print).toHaveFocus();
    const isOnPage = (): boolean => document.activeElement === document.body;
    for (const name of ['Ledger …', 'Back to the paths']) {
      focus(page.getByRole('button', { name, exact: true }));
      await userEvent.keyboard('{Enter}');
      await expect.poll(isOnPage).toBe(false);
      await expect.poll(() => document.activeElement!.closest('main') !== null).toBe(true);
    }
    await expect.element(page.getByRole('button', { name: 'Ledger …' })).toHaveFocus();
  });

  test('stays on a processor that is moved in the chain list, and whose move is undone', async () => {
    const engine = await openSong();
    await tile('EQ').click();
    focus(line('Compressor'));
    await userEvent.keyboard('{Alt>}{ArrowUp}{/Alt}');
    await expect.element(line('Compressor')).toHaveFocus();
    await userEvent.keyboard(undo);
    expect(order(engine)).toEqual(['eq', 'compressor', 'saturator']);
    await expect.element(line('Compressor')).toHaveFocus();
    await userEvent.keyboard(redo);
    expect(order(engine)).toEqual(['compressor', 'eq', 'saturator']);
    await expect.element(line('Compressor')).toHaveFocus();
  });

  test('goes to the next processor when one is removed from the chain list, and to the one before from the last', async () => {
    const engine = await openSong();
    await tile('EQ').click();
    focus(line('Compressor'));
    await userEvent.keyboard('{Delete}');
    await expect.element(line('Saturator')).toHaveFocus();
    await userEvent.keyboard('{Delete}');
    await expect.element(line('EQ')).toHaveFocus();
    await userEvent.keyboard('{Delete}');
    expect(order(engine)).toEqual([]);
    await expect.element(rowName('Drum squeeze')).toHaveFocus();
  });

  test('stays on a tile that is moved by Alt and an arrow, and goes on when Delete removes it', async () => {
    const engine = await openSong();
    focus(tile('Compressor'));
    await userEvent.keyboard('{Alt>}{ArrowRight}{/Alt}');
    expect(order(engine)).toEqual(['eq', 'saturator', 'compressor']);
    await expect.element(tile('Compressor')).toHaveFocus();
    await userEvent.keyboard('{Alt>}{ArrowUp}{/Alt}{Alt>}{ArrowLeft}{/Alt}');
    expect(order(engine)).toEqual(['compressor', 'eq', 'saturator']);
    await userEvent.keyboard(undo);
    await expect.element(tile('Compressor')).toHaveFocus();
    await userEvent.keyboard('{Delete}');
    expect(order(engine)).toEqual(['eq', 'saturator']);
    await expect.element(tile('Saturator')).toHaveFocus();
  });

  test('goes to the next row when a bus is removed', async () => {
    await openSong();
    await page.getByRole('button', { name: 'Drum squeeze', exact: true }).click();
    await page.getByRole('button', { name: 'Remove this bus' }).click();
    await expect.element(rowName('Side spread')).toHaveFocus();
  });

  test('is in the name of a group that is being added', async () => {
    const engine = await openSong();
    await page.getByRole('button', { name: '+ Add a group' }).click();
    await expect.element(page.getByRole('textbox', { name: 'Name of the new group' })).toHaveFocus();
    await userEvent.keyboard('Vocals{Enter}');
    expect(lastSession(engine).groups.at(-1)).toMatchObject({ name: 'Vocals', vocal: true });
  });
});

test('the arrow keys move a setting by 0.1 dB, with shift by 1 dB', async () => {
  const engine = await openSong();
  await page.getByRole('button', { name: 'Compressor of Drum squeeze' }).click();
  (page.getByRole('slider', { name: 'Threshold', exact: true }).element() as HTMLElement).focus();
  const threshold = (): unknown => {
    const item = lastSession(engine).buses[0]!.chain[1]!;
    return 'settings' in item ? item.settings['threshold'] : null;
  };
  await userEvent.keyboard('{ArrowRight}');
  expect(threshold()).toBe(-30.9);
  await userEvent.keyboard('{Shift>}{ArrowLeft}{/Shift}');
  expect(threshold()).toBe(-31.9);
});

test('the words behind the mark of a voice set it too', async () => {
  const engine = await openSong();
  await page.getByRole('button', { name: 'Drums', exact: true }).click();
  await page.getByText('left out of an instrumental print').click();
  expect(lastSession(engine).groups[0]!.vocal).toBe(true);
});

test('a loop is kept as a section once, and named at once', async () => {
  const engine = await openSong();
  const kept = page.getByRole('button', { name: /^Keep the loop/ });
  await page.getByRole('button', { name: 'Bridge' }).click();
  await page.getByRole('button', { name: 'Sections …' }).click();
  await expect.element(page.getByText('The loop is Bridge, which is a section.')).toBeVisible();
  await expect.element(kept).not.toBeInTheDocument();
  await userEvent.keyboard('{Escape}');
  await page.getByRole('button', { name: 'Chorus' }).click({ modifiers: ['Shift'] });
  await page.getByRole('button', { name: 'Sections …' }).click();
  await kept.click();
  await expect.element(kept).not.toBeInTheDocument();
  await userEvent.keyboard('Second half{Enter}');
  const { sections } = lastSession(engine);
  expect(sections).toHaveLength(6);
  expect(sections).toContainEqual({ name: 'Second half', startSeconds: 30, endSeconds: 60 });
});

test('a key that has nothing to play says why', async () => {
  const session = fakeSession();
  await openSong({ ...session, mixBus: { ...session.mixBus, chain: [] }, passes: [] });
  await userEvent.keyboard('0');
  await expect.element(page.getByText(/^The mix bus has no processors/)).toBeVisible();
  await userEvent.keyboard('4');
  await expect.element(page.getByText(/^There is no pass on key 4 yet/)).toBeVisible();
});
