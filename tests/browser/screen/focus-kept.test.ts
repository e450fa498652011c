import { expect, test } from 'vitest';
import { page, userEvent } from 'vitest/browser';
import { audioFile, drop, openSong, settled } from './open-screen.ts';
import { savePass } from '../../../src/session/passes/passes.ts';
import { fakeSession } from './fake-session.ts';

// WCAG 2.2: 2.4.3 focus order, 2.4.7 focus visible, 2.4.11 focus not obscured.

const focused = (): Element | null => (document.activeElement === document.body ? null : document.activeElement);
const isOpen = (): boolean => document.querySelector(':popover-open, dialog[open]') !== null;
const open = async (button: HTMLElement): Promise<void> => {
  button.focus();
  button.click();
  await expect.poll(isOpen, { message: button.outerHTML }).toBe(true);
};

test('every popover of the song gives the focus back to its button', async () => {
  await openSong(savePass(fakeSession(), 'First pass'));
  (page.getByRole('button', { name: 'Tape colour', exact: true }).element() as HTMLElement).click();
  await expect.element(page.getByRole('button', { name: 'Add processor' })).toBeVisible();
  const openers = [...document.querySelectorAll<HTMLButtonElement>('[popovertarget]:enabled')];
  // One of each kind: words behind figures are all alike.
  const kinds = new Map(
    openers.map((button) => [
      button.className === 'figure-name' ? 'figure' : button.textContent.replace(/\d.*/, ''),
      button,
    ]),
  );
  expect(kinds.size).toBeGreaterThan(15);
  for (const [kind, button] of kinds) {
    await open(button);
    // Where something in it takes the focus, it does so in the next frame; else the first of it gets it.
    const panel = document.querySelector(':popover-open')!;
    await settled();
    if (focused() === button && panel.querySelector('button, input, select, [tabindex]'))
      await userEvent.keyboard('{Tab}');
    await userEvent.keyboard('{Escape}');
    await expect.poll(isOpen).toBe(false);
    await expect.poll(focused, { message: kind }).toBe(button);
  }
});

test('a popover that is left by Tab closes: what has the focus never lies under it', async () => {
  await openSong();
  const button = page.getByRole('button', { name: '4 tracks' }).element() as HTMLElement;
  await open(button);
  const panel = document.querySelector<HTMLElement>(':popover-open')!;
  [...panel.querySelectorAll<HTMLElement>('input, button, select')].at(-1)!.focus();
  await userEvent.keyboard('{Tab}');
  await expect.poll(isOpen).toBe(false);
  expect(panel.contains(document.activeElement)).toBe(false);
  expect(focused()).not.toBeNull();
});

const dialogs: Readonly<Record<string, string | RegExp>> = {
  Print: /^Print …/,
  Bundle: /^Bundle …/,
  Search: 'Search everything',
};

test.each(Object.keys(dialogs))('the dialog of %s gives the focus back', async (name) => {
  await openSong();
  const button = page.getByRole('button', { name: dialogs[name]! }).element() as HTMLElement;
  await open(button);
  await userEvent.keyboard('{Escape}');
  await expect.poll(isOpen).toBe(false);
  await expect.poll(focused).toBe(button);
});

test.each(['Blind trial …', 'Approval page …'])(
  '%s, which a popover opens, gives the focus back to the button of that',
  async (name) => {
    await openSong(savePass(fakeSession(), 'First pass'));
    const button = page.getByRole('button', { name: 'Compare …' }).element() as HTMLElement;
    await open(button);
    const inner = page.getByRole('button', { name }).element() as HTMLElement;
    inner.focus();
    inner.click();
    await expect.element(page.getByRole('dialog', { name: /trial|approval/i })).toBeVisible();
    await userEvent.keyboard('{Escape}');
    await expect.poll(isOpen).toBe(false);
    await expect.poll(focused).toBe(button);
  },
);

test('files that are assigned give the focus back to what had it', async () => {
  await openSong();
  const row = page.getByRole('button', { name: 'Guitars', exact: true }).element() as HTMLElement;
  row.focus();
  drop(audioFile('Shaker.wav'));
  await expect.element(page.getByRole('dialog', { name: 'Assign files' })).toBeVisible();
  await page.getByRole('button', { name: /^Add 1 file/ }).click();
  await expect.poll(isOpen).toBe(false);
  await expect.poll(focused).toBe(row);
});

test('a row that is removed gives the focus to the same control of the next one, and undo loses nothing', async () => {
  await openSong();
  await open(page.getByRole('button', { name: '4 tracks' }).element() as HTMLElement);
  (page.getByRole('button', { name: 'Remove Snare' }).element() as HTMLElement).focus();
  await userEvent.keyboard('{Enter}');
  await expect.element(page.getByRole('button', { name: 'Remove Hats' })).toHaveFocus();
  await userEvent.keyboard('{Control>}z{/Control}');
  await expect.element(page.getByRole('button', { name: 'Remove Snare', exact: true })).toBeInTheDocument();
  expect(focused()).not.toBeNull();
});

test('a number that is typed and confirmed by keyboard keeps the focus, whose keys are the song’s until Enter begins anew', async () => {
  const engine = await openSong();
  (page.getByRole('slider', { name: 'Blend of Drum squeeze' }).element() as HTMLElement).focus();
  await userEvent.keyboard('{Tab}-7{Enter}');
  const field = page.getByRole('textbox', { name: 'Blend of Drum squeeze, dB' });
  await expect.element(field).toHaveFocus();
  await userEvent.keyboard(' ');
  expect(engine.view.playing).toBe(true);
  await userEvent.keyboard('{Enter}-9{Enter}');
  await expect.element(field).toHaveValue('\u22129.0');
  await userEvent.keyboard('-3{Escape}');
  await expect.element(field).toHaveValue('\u22129.0');
  await expect.element(field).toHaveFocus();
});

test('F6 goes through the parts of the screen, and comes back to what had the focus there', async () => {
  await openSong();
  const row = page.getByRole('button', { name: 'Guitars', exact: true }).element() as HTMLElement;
  row.focus();
  const parts: string[] = [];
  for (let n = 0; n < 5; n++) {
    await userEvent.keyboard('{F6}');
    const part = document.activeElement!.closest('header, section, aside')!;
    parts.push(part.getAttribute('aria-label') ?? part.tagName);
  }
  expect(parts).toEqual(['Findings', 'Hearing', 'HEADER', 'Song', 'Paths']);
  expect(focused()).toBe(row);
});
