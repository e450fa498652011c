import { expect, test } from 'vitest';
import { page, userEvent } from 'vitest/browser';
import { SHUT_DB } from '../../../src/session/schema.ts';
import { positionOf } from '../../../src/ui/stream/decibel-scale.ts';
import { lastSession, openSong } from './open-screen.ts';

const stream = () => page.getByRole('slider', { name: 'Blend of Drum squeeze' });
const undo = () => page.getByRole('button', { name: 'Undo blend Drum squeeze' });

test('the arrow keys move a blend by half a dB, with shift by a tenth, the page keys by three', async () => {
  const engine = await openSong();
  (stream().element() as HTMLElement).focus();
  const after = async (keys: string): Promise<number> => {
    await userEvent.keyboard(keys);
    return lastSession(engine).buses[0]!.blendDb;
  };
  expect(await after('{ArrowRight}')).toBe(-11);
  expect(await after('{Shift>}{ArrowLeft}{/Shift}')).toBe(-11.1);
  expect(await after('{PageDown}')).toBe(-14.1);
  expect(await after('{Home}')).toBe(SHUT_DB);
  await expect.element(stream()).toHaveAttribute('aria-valuetext', 'shut');
  expect(await after('{ArrowUp}')).toBe(-60);
});

test('a double click brings a blend to 0 dB', async () => {
  const engine = await openSong();
  await userEvent.dblClick(stream());
  expect(lastSession(engine).buses[0]!.blendDb).toBe(0);
});

test('a typed level is taken with a comma, words shut the way, nonsense changes nothing', async () => {
  const engine = await openSong();
  const field = page.getByRole('textbox', { name: 'Blend of Drum squeeze, dB' });
  await field.fill('-7,25');
  await userEvent.keyboard('{Enter}');
  expect(lastSession(engine).buses[0]!.blendDb).toBe(-7.2);
  await field.fill('loud');
  await expect.element(field).toHaveAttribute('aria-invalid', 'true');
  await userEvent.keyboard('{Enter}');
  expect(lastSession(engine).buses[0]!.blendDb).toBe(-7.2);
  await field.fill('shut');
  await userEvent.keyboard('{Enter}');
  expect(lastSession(engine).buses[0]!.blendDb).toBe(SHUT_DB);
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
