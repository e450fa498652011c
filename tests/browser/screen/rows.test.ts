import { expect, test } from 'vitest';
import { page, userEvent } from 'vitest/browser';
import { fakeSession } from './fake-session.ts';
import { applied, lastSession, openSong } from './open-screen.ts';

const { groups, buses } = fakeSession();
const [first, second] = groups.map(({ name }) => name) as [string, string];
const name = (path: string) =>
  page.getByRole('region', { name: 'Paths' }).getByRole('button', { name: path, exact: true });
const undo = (label: string) => page.getByRole('button', { name: `Undo ${label}`, exact: true });

/** Drags a name to a part of another row's height. */
const dragTo = (path: string, row: string, part: number): void => {
  const from = name(path).element();
  const place = document.querySelector(`[data-place="row ${row}"]`)!.getBoundingClientRect();
  const start = from.getBoundingClientRect();
  const event = (type: string, clientX: number, clientY: number): PointerEvent =>
    new PointerEvent(type, { clientX, clientY, button: 0, bubbles: true });
  const y = place.top + part * place.height;
  from.dispatchEvent(event('pointerdown', start.left + 4, start.top + 4));
  window.dispatchEvent(event('pointermove', place.left + 40, y));
  window.dispatchEvent(event('pointerup', place.left + 40, y));
};

test('a row is dragged between its like, moved by keys, and dropped on a bus to send to it', async () => {
  const engine = await openSong();
  dragTo(first, groups[1]!.id, 0.9);
  expect(
    lastSession(engine)
      .groups.map((group) => group.name)
      .slice(0, 2),
  ).toEqual([second, first]);
  (name(first).element() as HTMLElement).focus();
  await userEvent.keyboard('{Alt>}{ArrowUp}{/Alt}');
  expect(lastSession(engine).groups[0]!.name).toBe(first);
  await expect.element(undo(`move ${first}`)).toBeVisible();
  // A bus that it does not feed yet.
  const bus = buses.find(({ id }) => !groups[0]!.sends.some(({ to }) => to === id))!;
  dragTo(first, bus.id, 0.5);
  await expect.element(undo(`send ${first} to ${bus.name}`)).toBeVisible();
  expect(lastSession(engine).groups[0]!.sends).toContainEqual({ to: bus.id, levelDb: 0, tap: 'post-fader', on: true });
});

test('rows that are selected together move, mute and send together, each as one step', async () => {
  const engine = await openSong();
  const levels = () => lastSession(engine).groups.map(({ faderDb }) => faderDb);
  await name(first).click();
  await name(second).click({ modifiers: ['Shift'] });
  (page.getByRole('slider', { name: `Fader of ${second}` }).element() as HTMLElement).focus();
  await userEvent.keyboard('{PageDown}');
  expect(levels()).toEqual(groups.map(({ faderDb }, n) => (n < 2 ? faderDb - 3 : faderDb)));
  await expect.element(undo('level of 2 paths')).toBeVisible();
  await page.getByRole('switch', { name: `Mute ${first}` }).click();
  expect(lastSession(engine).groups.map(({ on }) => on)).toEqual(groups.map((_, n) => n >= 2));
  const bus = buses.find(({ id }) => groups.slice(0, 2).every(({ sends }) => !sends.some(({ to }) => to === id)))!;
  dragTo(first, bus.id, 0.5);
  await expect.element(undo(`send 2 paths to ${bus.name}`)).toBeVisible();
  // Without Shift one alone is selected again.
  await name(second).click();
  await page.getByRole('switch', { name: `Mute ${second}` }).click();
  expect(lastSession(engine).groups.map(({ on }) => on)).toEqual(groups.map((_, n) => n > 0));
});

test('a finger that rests on a processor drags it, and one that moves at once scrolls', async () => {
  const engine = await openSong();
  const tile = page.getByRole('button', { name: 'Compressor of Drum squeeze' }).element();
  const steps = applied(engine);
  const { left, top } = tile.getBoundingClientRect();
  const finger = (type: string, x: number, at: EventTarget = window): boolean =>
    at.dispatchEvent(
      new PointerEvent(type, { pointerType: 'touch', clientX: left + x, clientY: top + 4, bubbles: true, button: 0 }),
    );
  finger('pointerdown', 4, tile);
  finger('pointermove', 30);
  const moved = new TouchEvent('touchmove', { cancelable: true });
  window.dispatchEvent(moved);
  expect(moved.defaultPrevented).toBe(false);
  finger('pointerup', 30);
  expect(applied(engine)).toBe(steps);
  finger('pointerdown', 4, tile);
  await expect
    .poll(() => {
      const held = new TouchEvent('touchmove', { cancelable: true });
      window.dispatchEvent(held);
      return held.defaultPrevented;
    })
    .toBe(true);
  finger('pointercancel', 4);
});
