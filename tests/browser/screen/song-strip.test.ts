import { expect, test } from 'vitest';
import { page, userEvent } from 'vitest/browser';
import { markersOf } from '../../../src/session/markers.ts';
import { fakeSession } from './fake-session.ts';
import { accessibilityTroubles, lastSession, openSong } from './open-screen.ts';

const wave = () => page.getByRole('slider', { name: 'Place in the song' });
const whole = () => page.getByRole('button', { name: 'Show more of the song' });

test('the strip is zoomed by keys, buttons and wheel, and shows the whole song again', async () => {
  await openSong();
  await expect.element(whole()).toBeDisabled();
  (wave().element() as HTMLElement).focus();
  await userEvent.keyboard('++');
  await expect.element(whole()).toBeEnabled();
  await page.getByRole('button', { name: 'Zoom in on the song' }).click();
  wave()
    .element()
    .dispatchEvent(new WheelEvent('wheel', { deltaY: -240, bubbles: true, cancelable: true }));
  await userEvent.keyboard('{PageDown}');
  await page.getByRole('button', { name: 'View …' }).click();
  expect(await accessibilityTroubles()).toEqual([]);
  await page.getByRole('button', { name: 'Whole song' }).click();
  await expect.element(whole()).toBeDisabled();
});

test('a section is moved by its edge, by the beat or the bar, as one step of undo', async () => {
  const { sections, tempo } = fakeSession();
  const engine = await openSong();
  const edge = page.getByRole('slider', { name: `${sections[0]!.name} to ${sections[1]!.name}` });
  (edge.element() as HTMLElement).focus();
  await userEvent.keyboard('{ArrowRight}{ArrowRight}');
  const moved = lastSession(engine).sections;
  const beat = 60 / tempo;
  expect(moved[0]!.endSeconds).toBeCloseTo(sections[0]!.endSeconds + 2 * beat, 6);
  expect(moved[1]!.startSeconds).toBe(moved[0]!.endSeconds);
  await userEvent.keyboard('{Control>}z{/Control}');
  await expect.poll(() => lastSession(engine).sections).toEqual(sections);
});

test('K marks where it plays; a marker is moved, gone to and removed by keys', async () => {
  const engine = await openSong();
  await userEvent.keyboard('k');
  const marker = page.getByRole('button', { name: /^Marker 1, / });
  (marker.element() as HTMLElement).focus();
  await userEvent.keyboard('{ArrowRight}');
  const beat = 60 / fakeSession().tempo;
  const [moved] = markersOf(lastSession(engine));
  expect(moved!.name).toBe('Marker 1');
  expect(moved!.seconds).toBeCloseTo(beat, 6);
  await userEvent.keyboard('{Enter}');
  expect(engine.position()).toBeCloseTo(beat, 6);
  await userEvent.keyboard('{Delete}');
  await expect.poll(() => lastSession(engine).markers).toEqual([]);
});
