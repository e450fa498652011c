import { expect, test } from 'vitest';
import { page, userEvent } from 'vitest/browser';
import type { Session } from '../../../src/session/schema.ts';
import { firstProcessor, processorItem } from '../../helpers/chain-items.ts';
import { fakeSession } from './fake-session.ts';
import { accessibilityTroubles, lastSession, openSong } from './open-screen.ts';

const withEq = (): Session => {
  const session = fakeSession();
  const eq = { ...processorItem('eq'), settings: { 'band3.on': true, 'band3.frequency': 500, 'band3.gain': -3 } };
  return { ...session, buses: [{ ...session.buses[0]!, chain: [eq] }, ...session.buses.slice(1)] };
};

const open = async () => {
  const engine = await openSong(withEq());
  await page.getByRole('button', { name: 'EQ of Drum squeeze' }).click();
  return { engine, settings: () => firstProcessor(lastSession(engine).buses[0]!.chain).settings };
};
const band = (number: number) => page.getByRole('slider', { name: `Band ${number}, in the picture` });
const undo = page.getByRole('button', { name: /^Undo/ });

test('a band is dragged on the curve, with Shift finely, and is one step of undo', async () => {
  const { settings } = await open();
  const handle = band(3).element() as HTMLElement;
  handle.setPointerCapture = () => undefined;
  const { left, top } = handle.getBoundingClientRect();
  const move = (type: string, x: number, y: number, shiftKey = false): boolean =>
    handle.dispatchEvent(
      new PointerEvent(type, { clientX: left + x, clientY: top + y, pointerId: 1, button: 0, shiftKey, bubbles: true }),
    );
  move('pointerdown', 5, 5);
  move('pointermove', 35, 15);
  const { 'band3.frequency': coarse, 'band3.gain': gain } = settings();
  expect(coarse).toBeGreaterThan(500);
  expect(gain).toBeLessThan(-3);
  move('pointermove', 65, 15, true);
  const fine = Math.log(Number(settings()['band3.frequency']) / Number(coarse));
  // A tenth of the same way.
  expect(fine / Math.log(Number(coarse) / 500)).toBeCloseTo(0.1, 1);
  move('pointerup', 65, 15);
  await expect.element(undo).toHaveAccessibleName('Undo band 3 of EQ in Drum squeeze');
  await undo.click();
  expect(settings()).toMatchObject({ 'band3.frequency': 500, 'band3.gain': -3 });
});

test('keys move the chosen band, the wheel is its Q, Enter resets it and Delete switches it off', async () => {
  const { settings } = await open();
  (band(3).element() as HTMLElement).focus();
  await expect.element(page.getByRole('tab', { name: /^Band 3/ })).toHaveAttribute('aria-selected', 'true');
  await userEvent.keyboard('{ArrowUp}{ArrowRight}');
  expect(settings()).toMatchObject({ 'band3.frequency': 505, 'band3.gain': -2.9 });
  await expect.element(band(3)).toHaveAttribute('aria-valuetext', 'Frequency 505 Hz, Gain −2.9 dB, Q 0.71');
  band(3)
    .element()
    .dispatchEvent(new WheelEvent('wheel', { deltaY: -40, bubbles: true, cancelable: true }));
  expect(settings()['band3.q']).toBeGreaterThan(0.71);
  await userEvent.keyboard('{Enter}');
  expect(settings()['band3.gain']).toBe(0);
  await userEvent.keyboard('{Delete}');
  expect(settings()['band3.on']).toBe(false);
  // The focus stays in the picture, and Insert adds a band in the middle of it, flat.
  await expect.poll(() => document.activeElement?.getAttribute('aria-label')).toMatch(/Insert adds one$/);
  await userEvent.keyboard('{Insert}');
  const on = (): string[] => Object.keys(settings()).filter((id) => id.endsWith('.on') && settings()[id] === true);
  await expect.poll(on).toHaveLength(1);
  const added = on()[0]!.replace('.on', '');
  expect(Number(settings()[`${added}.frequency`])).toBeCloseTo(Math.sqrt(20 * 20_000), -1);
  expect(settings()[`${added}.gain`]).toBe(0);
  await expect.poll(() => document.activeElement?.getAttribute('data-handle')).toBe(added);
});

test('two fingers set how wide a band is and move it nowhere; Insert adds a band, which has the focus', async () => {
  const { settings } = await open();
  const handle = band(3).element() as HTMLElement;
  handle.setPointerCapture = () => undefined;
  const picture = handle.parentElement!;
  const finger = (on: Element, type: string, pointerId: number, x: number): boolean =>
    on.dispatchEvent(
      new PointerEvent(type, { pointerType: 'touch', pointerId, clientX: x, clientY: 300, button: 0, bubbles: true }),
    );
  finger(handle, 'pointerdown', 1, 396);
  // What the first finger has dragged by then goes back.
  finger(handle, 'pointermove', 1, 400);
  expect(settings()['band3.frequency']).not.toBe(500);
  finger(picture, 'pointerdown', 2, 440);
  finger(handle, 'pointermove', 1, 380);
  finger(picture, 'pointermove', 2, 460);
  const { 'band3.q': wide, 'band3.frequency': hz } = settings();
  // Twice as far apart: half the Q.
  expect([wide, hz]).toEqual([0.35, 500]);
  finger(picture, 'pointerup', 2, 460);
  finger(handle, 'pointermove', 1, 300);
  finger(handle, 'pointerup', 1, 300);
  expect(settings()['band3.frequency']).toBe(500);
  await expect.element(undo).toHaveAccessibleName('Undo band 3 of EQ in Drum squeeze');
  await undo.click();
  expect(settings()['band3.q'] ?? 0.71).toBe(0.71);

  handle.focus();
  await userEvent.keyboard('{Insert}');
  await expect.poll(() => document.activeElement?.getAttribute('aria-label')).toMatch(/^Band [^3], in the picture$/);
});

test('a double-click adds a band where it points to', async () => {
  const { settings } = await open();
  const picture = band(3).element().parentElement!;
  const { left, top, width, height } = picture.getBoundingClientRect();
  picture.dispatchEvent(
    new MouseEvent('dblclick', { clientX: left + width * 0.8, clientY: top + height * 0.3, bubbles: true }),
  );
  const added = Object.entries(settings()).find(([id, setting]) => id !== 'band3.on' && setting === true)!;
  const id = added[0].replace('.on', '');
  expect(settings()[`${id}.gain`]).toBeGreaterThan(0);
  expect(settings()[`${id}.frequency`]).toBeGreaterThan(2000);
  await expect.element(undo).toHaveAccessibleName(/^Undo add band \d of EQ/);
  expect(await accessibilityTroubles()).toEqual([]);
});
