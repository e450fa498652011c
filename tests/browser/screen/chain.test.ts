import { expect, test } from 'vitest';
import { page, userEvent } from 'vitest/browser';
import { processors } from '../../../src/dsp/core/registry.ts';
import { presetByName, presets } from '../../../src/session/presets/presets.ts';
import { firstProcessor } from '../../helpers/chain-items.ts';
import { lastSession, openSong } from './open-screen.ts';

const panel = () => page.getByRole('region', { name: 'Workbench: Drum squeeze' });
const item = (name: string) => panel().getByRole('listitem').getByRole('button', { name, exact: true });
const openBench = async () => {
  const engine = await openSong();
  await page.getByRole('button', { name: 'Drum squeeze', exact: true }).click();
  return { engine, order: () => lastSession(engine).buses[0]!.chain.map(({ id }) => id) };
};

test('Alt with an arrow key moves a processor, and the focus stays on it', async () => {
  const { order } = await openBench();
  (item('Compressor').element() as HTMLElement).focus();
  await userEvent.keyboard('{Alt>}{ArrowUp}{/Alt}');
  expect(order()).toEqual(['compressor', 'eq', 'saturator']);
  await expect.element(item('Compressor')).toHaveFocus();
  await userEvent.keyboard('{Alt>}{ArrowDown}{ArrowDown}{/Alt}');
  expect(order()).toEqual(['eq', 'saturator', 'compressor']);
});

test('a processor is dragged to its new place', async () => {
  const { order } = await openBench();
  const grip = panel().element().querySelector<HTMLElement>('.grip')!;
  grip.closest('li')!.setPointerCapture = () => undefined;
  const { top } = grip.getBoundingClientRect();
  const at = (y: number): PointerEventInit => ({ clientY: top + y, pointerId: 1, button: 0, bubbles: true });
  grip.dispatchEvent(new PointerEvent('pointerdown', at(5)));
  grip.dispatchEvent(new PointerEvent('pointermove', at(66)));
  grip.dispatchEvent(new PointerEvent('pointerup', at(66)));
  expect(order()).toEqual(['compressor', 'saturator', 'eq']);
});

test('a processor is bypassed and drawn hollow, and removed by key', async () => {
  const { engine, order } = await openBench();
  await panel().getByRole('switch', { name: 'Bypass EQ' }).click();
  expect(lastSession(engine).buses[0]!.chain[0]!.on).toBe(false);
  await expect.element(page.getByRole('button', { name: 'EQ of Drum squeeze, bypassed' })).toBeInTheDocument();
  (item('EQ').element() as HTMLElement).focus();
  await userEvent.keyboard('{Delete}');
  expect(order()).toEqual(['compressor', 'saturator']);
});

test('every processor of the registry is offered, and a new one is opened in the editor', async () => {
  const { order } = await openBench();
  await panel().getByRole('button', { name: 'Add processor' }).click();
  const menu = page.getByRole('dialog', { name: 'Add a processor' });
  expect(menu.getByRole('listitem').elements()).toHaveLength(processors.size);
  await menu.getByRole('button', { name: /^Gain/ }).click();
  expect(order().at(-1)).toBe('gain');
  await expect.element(panel().getByRole('slider', { name: 'Gain', exact: true })).toBeVisible();
});

test('a path whose bench is closed comes back with its chain', async () => {
  await openBench();
  await userEvent.keyboard('{Escape}');
  await expect.element(panel()).not.toBeInTheDocument();
  await page.getByRole('button', { name: 'Saturator of Drum squeeze' }).click();
  await expect.element(panel()).toBeVisible();
});

test('a preset is laid in place of the chain, and taken back', async () => {
  const { engine, order } = await openBench();
  await panel().getByRole('button', { name: 'Load preset' }).click();
  const preset = presets[0]!;
  await page
    .getByRole('dialog')
    .getByRole('button', { name: new RegExp(`^${preset.name}`, 'i') })
    .click();
  expect(order()).toEqual(preset.chain.map(({ id }) => id));
  await userEvent.keyboard('{Control>}z{/Control}');
  expect(lastSession(engine).buses[0]!.chain).toHaveLength(3);
});

test('a preset is fitted to the sound when it is laid, in one step of undo; as written is a choice', async () => {
  const { engine } = await openBench();
  const threshold = (): unknown => firstProcessor(lastSession(engine).buses[0]!.chain).settings.threshold;
  await panel().getByRole('button', { name: 'Load preset' }).click();
  const preset = presetByName('bus glue')!;
  const written = firstProcessor(preset.chain).settings.threshold as number;
  await page
    .getByRole('dialog')
    .getByRole('button', { name: /^bus glue/i })
    .click();
  await expect.element(page.getByText(/^Fitted to the sound over the song\./)).toBeVisible();
  expect(threshold()).toBe(written + 6);
  await userEvent.keyboard('{Control>}z{/Control}');
  expect(lastSession(engine).buses[0]!.chain).toHaveLength(3);
  await userEvent.keyboard('{Control>}{Shift>}z{/Shift}{/Control}');
  await page.getByRole('button', { name: 'As written' }).click();
  expect(threshold()).toBe(written);
  await page.getByRole('button', { name: 'Fit to the song' }).click();
  await expect.poll(threshold).toBe(written + 6);
});

test('presets are listed by what they suit, and one is heard as a preview before it is taken', async () => {
  const { engine } = await openBench();
  await panel().getByRole('button', { name: 'Load preset' }).click();
  const dialog = page.getByRole('dialog');
  await dialog.getByRole('combobox', { name: 'For' }).selectOptions('bass');
  const fitting = presets.filter(({ suits }) => suits.includes('bass') || suits.includes('all'));
  await expect.poll(() => dialog.getByRole('listitem').elements().length).toBe(fitting.length);
  await dialog.getByRole('button', { name: `Hear ${fitting[0]!.name}` }).click();
  await expect.element(page.getByText(`${fitting[0]!.name} on Drum squeeze`, { exact: false }).first()).toBeVisible();
  expect(lastSession(engine).buses[0]!.chain).toHaveLength(fitting[0]!.chain.length);
  await page.getByRole('button', { name: 'Discard' }).click();
  expect(lastSession(engine).buses[0]!.chain).toHaveLength(3);
});
