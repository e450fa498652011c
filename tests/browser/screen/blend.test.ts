import { expect, test } from 'vitest';
import { page, userEvent } from 'vitest/browser';
import { CLOSED_DB } from '../../../src/session/schema.ts';
import { levelAt, positionOf } from '../../../src/ui/stream/decibel-scale.ts';
import { applied, lastSession, openSong } from './open-screen.ts';

const stream = () => page.getByRole('slider', { name: 'Blend of Drum squeeze' });
const undo = () => page.getByRole('button', { name: 'Undo blend Drum squeeze' });

test('the arrow keys move a blend by a tenth of a dB, with shift by one, the page keys by three', async () => {
  const engine = await openSong();
  (stream().element() as HTMLElement).focus();
  const after = async (keys: string): Promise<number> => {
    await userEvent.keyboard(keys);
    return lastSession(engine).buses[0]!.blendDb;
  };
  expect(await after('{ArrowRight}')).toBe(-11.4);
  expect(await after('{Shift>}{ArrowLeft}{/Shift}')).toBe(-12.4);
  expect(await after('{PageDown}')).toBe(-15.4);
  expect(await after('{Home}')).toBe(CLOSED_DB);
  await expect.element(stream()).toHaveAttribute('aria-valuetext', '−∞ dB');
  expect(await after('{ArrowUp}')).toBe(-60);
});

test('End brings a blend to 0 dB, from where an arrow key goes on; presses in a row are one step of undo', async () => {
  const engine = await openSong();
  (stream().element() as HTMLElement).focus();
  await userEvent.keyboard('{ArrowRight}{ArrowRight}{End}{ArrowUp}');
  expect(lastSession(engine).buses[0]!.blendDb).toBe(0.1);
  await undo().click();
  expect(lastSession(engine).buses[0]!.blendDb).toBe(-11.5);
});

test('the wheel moves a blend by half a dB where it has the focus, and not elsewhere', async () => {
  const engine = await openSong();
  const turn = () =>
    stream()
      .element()
      .dispatchEvent(new WheelEvent('wheel', { deltaY: -120, cancelable: true }));
  expect(turn()).toBe(true);
  expect(applied(engine)).toBe(0);
  (stream().element() as HTMLElement).focus();
  expect(turn()).toBe(false);
  expect(lastSession(engine).buses[0]!.blendDb).toBe(-11);
});

test('a double click brings a fader to 0 dB, and opens the field of a blend', async () => {
  const engine = await openSong();
  await userEvent.dblClick(page.getByRole('slider', { name: 'Fader of Drums' }));
  expect(lastSession(engine).groups[0]!.faderDb).toBe(0);
  await userEvent.dblClick(stream());
  await expect.element(page.getByRole('textbox', { name: 'Blend of Drum squeeze, dB' })).toHaveFocus();
  expect(lastSession(engine).buses[0]!.blendDb).not.toBe(0);
});

test('a drag with shift goes a tenth of the way', async () => {
  const engine = await openSong();
  const element = stream().element() as HTMLElement;
  element.setPointerCapture = () => undefined;
  const { left, top, width, height } = element.getBoundingClientRect();
  const from = left + positionOf(-11.5) * width;
  const at = (x: number): PointerEventInit => ({
    ...{ clientX: from + x, clientY: top + height / 2 },
    ...{ pointerId: 1, button: 0, bubbles: true, shiftKey: true },
  });
  element.dispatchEvent(new PointerEvent('pointerdown', at(0)));
  element.dispatchEvent(new PointerEvent('pointermove', at(20)));
  element.dispatchEvent(new PointerEvent('pointerup', at(20)));
  expect(lastSession(engine).buses[0]!.blendDb).toBe(levelAt(positionOf(-11.5) + 2 / width));
});

test('a typed level is taken with a comma, words shut the way, nonsense changes nothing', async () => {
  const engine = await openSong();
  const field = page.getByRole('textbox', { name: 'Blend of Drum squeeze, dB' });
  await field.fill('-7,25');
  await userEvent.keyboard('{Enter}');
  expect(lastSession(engine).buses[0]!.blendDb).toBe(-7.2);
  for (const nonsense of ['loud', '1e9']) {
    await field.fill(nonsense);
    await expect.element(field).toHaveAttribute('aria-invalid', 'true');
    await expect.element(page.getByText('\u221290 to 24 dB, or −∞, or −inf')).toBeVisible();
  }
  await userEvent.keyboard('{Enter}');
  expect(lastSession(engine).buses[0]!.blendDb).toBe(-7.2);
  await field.fill('-inf');
  await userEvent.keyboard('{Enter}');
  expect(lastSession(engine).buses[0]!.blendDb).toBe(CLOSED_DB);
});

test('a drag follows the pointer from where the handle was taken, and is one step of undo', async () => {
  const engine = await openSong();
  const element = stream().element() as HTMLElement;
  const { left, top, width, height } = element.getBoundingClientRect();
  const at = (part: number): PointerEventInit => ({
    clientX: left + part * width,
    clientY: top + height / 2,
    pointerId: 1,
    button: 0,
    bubbles: true,
  });
  // A pointer that no device moves cannot be captured.
  element.setPointerCapture = () => undefined;
  element.dispatchEvent(new PointerEvent('pointerdown', at(positionOf(-11.5))));
  for (const db of [-10, -8, -6]) element.dispatchEvent(new PointerEvent('pointermove', at(positionOf(db))));
  element.dispatchEvent(new PointerEvent('pointerup', at(positionOf(-6))));
  expect(lastSession(engine).buses[0]!.blendDb).toBeCloseTo(-6, 0);

  await undo().click();
  expect(lastSession(engine).buses[0]!.blendDb).toBe(-11.5);
  await expect.element(undo()).not.toBeInTheDocument();
  await page.getByRole('button', { name: 'Redo blend Drum squeeze' }).click();
  expect(lastSession(engine).buses[0]!.blendDb).toBeCloseTo(-6, 0);
});

test('a blend that is moved changes its share in the table', async () => {
  await openSong();
  const row = page.getByRole('row', { name: /Drum squeeze/ });
  const before = row.element().querySelector('.share')!.textContent;
  (stream().element() as HTMLElement).focus();
  await userEvent.keyboard('{PageUp}');
  expect(row.element().querySelector('.share')!.textContent).not.toBe(before);
});
