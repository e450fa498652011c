import { expect, test } from 'vitest';
import { page, userEvent } from 'vitest/browser';
import { valueAt } from '../../../src/session/lines/line-values.ts';
import { setLine } from '../../../src/session/lines/line-edits.ts';
import { fakeSession } from './fake-session.ts';
import { accessibilityTroubles, lastSession, openSong } from './open-screen.ts';

const button = (name: string | RegExp) => page.getByRole('button', { name, exact: typeof name === 'string' });

/** The fake song, in which the fader of Drums has two points. */
const lined = () =>
  setLine(fakeSession(), {
    target: { of: 'drums', what: 'level' },
    unit: 'seconds',
    on: true,
    points: [
      { at: 10, value: -6, curve: 'linear' },
      { at: 40, value: 0, curve: 'hold' },
    ],
  });

const openPath = async (name: string): Promise<void> => {
  await page
    .getByRole('button', { name: new RegExp(`^${name}`) })
    .first()
    .click();
};

test('a path is switched by section with the mouse and the keys, and back with undo', async () => {
  const engine = await openSong();
  await openPath('Drums');
  const bridge = page
    .getByRole('group', { name: 'Sections that Drums plays in' })
    .getByRole('button', { name: 'Bridge' });
  await expect.element(bridge).toHaveAttribute('aria-pressed', 'true');
  await bridge.click();
  await expect.element(bridge).toHaveAttribute('aria-pressed', 'false');
  expect(lastSession(engine).lines[0]!.points.map(({ at, value }) => [at, value])).toEqual([
    [0, true],
    [30, false],
    [40, true],
  ]);
  (bridge.element() as HTMLElement).focus();
  await userEvent.keyboard('{Enter}');
  await expect.element(bridge).toHaveAttribute('aria-pressed', 'true');
  // Muted by hand it plays nowhere; a section that is then switched on is the only one.
  await userEvent.keyboard('u');
  await expect.element(bridge).toHaveAttribute('aria-pressed', 'false');
  expect(lastSession(engine).lines[0]!.on).toBe(false);
  await bridge.click();
  await expect.element(bridge).toHaveAttribute('aria-pressed', 'true');
  expect(lastSession(engine).groups[0]!.on).toBe(true);
  expect(lastSession(engine).lines[0]!.points.map(({ value }) => value)).toEqual([false, true, false]);
  await button(/^Undo Drums in Bridge/).click();
  await button(/^Undo mute Drums/).click();
  await button(/^Undo Drums in Bridge/).click();
  await expect.element(bridge).toHaveAttribute('aria-pressed', 'false');
  expect(await accessibilityTroubles()).toEqual([]);
});

test('points of a fader are moved and removed by keys, dragged on the strip, and typed in their list', async () => {
  const engine = await openSong(lined());
  await openPath('Drums');
  const point = (n: number) => page.getByRole('button', { name: new RegExp(`^Point ${n}:`) });
  const points = () => lastSession(engine).lines[0]!.points;
  await expect.element(point(2)).toBeVisible();
  expect(await accessibilityTroubles()).toEqual([]);
  (point(1).element() as HTMLElement).focus();
  await userEvent.keyboard('{ArrowUp}{ArrowRight}');
  expect(points()[0]).toEqual({ at: 10 + 60 / 96, value: -5.5, curve: 'linear' });
  const handle = point(2).element() as HTMLElement;
  handle.setPointerCapture = () => undefined;
  const { left, top } = handle.getBoundingClientRect();
  const at = (x: number, y: number) => ({ clientX: left + 12 + x, clientY: top + 12 + y, button: 0, bubbles: true });
  handle.dispatchEvent(new PointerEvent('pointerdown', at(0, 0)));
  handle.dispatchEvent(new PointerEvent('pointermove', at(60, 20)));
  handle.dispatchEvent(new PointerEvent('pointerup', at(60, 20)));
  expect(points()[1]!.at).toBeGreaterThan(40);
  expect(points()[1]!.value).toBeLessThan(0);
  await button('Line: Fader').click();
  await page.getByRole('textbox', { name: /^Value of point 2/ }).fill('-12');
  await userEvent.keyboard('{Enter}');
  expect(points()[1]!.value).toBe(-12);
  await button(/^Add a point at/).click();
  expect(points()).toHaveLength(3);
  expect(await accessibilityTroubles()).toEqual([]);
  await userEvent.keyboard('{Escape}');
  (point(3).element() as HTMLElement).focus();
  await userEvent.keyboard('{Delete}');
  expect(points()).toHaveLength(2);
});

test('any control of a path has a line: chosen, drawn by a double-click and by Insert, its curve by a key, copied to another section', async () => {
  const engine = await openSong();
  await openPath('Bass');
  await button('Automation …').click();
  const search = page.getByRole('searchbox', { name: 'Search controls' });
  await expect.element(search).toHaveFocus();
  await search.fill('compressor thresh');
  const found = page.getByRole('combobox', { name: 'Line of' });
  expect([...(found.element() as HTMLSelectElement).options].map(({ text }) => text)).toEqual([
    'choose …',
    'Threshold',
  ]);
  await found.selectOptions('Threshold');
  await userEvent.keyboard('{Escape}');
  const strip = page.getByRole('slider', { name: 'Place in the song' });
  const line = () => lastSession(engine).lines.find(({ target }) => target.parameter === 'threshold')!;
  const { left, top, width, height } = strip.element().getBoundingClientRect();
  // The engine has 72 s of sound; 15 s are beat 25 at 96 BPM.
  const there = { clientX: left + (15 / 72) * width, clientY: top + height / 2, bubbles: true };
  strip.element().dispatchEvent(new MouseEvent('dblclick', there));
  await expect.poll(() => line().points.map(({ at }) => at)).toEqual([15]);
  (strip.element() as HTMLElement).focus();
  await userEvent.keyboard(`{Shift>}${'{ArrowRight}'.repeat(8)}{/Shift}{Insert}`);
  expect(line().points.map(({ at, curve }) => [at, curve])).toEqual([
    [15, 'linear'],
    [20, 'linear'],
  ]);
  (page.getByRole('button', { name: /^Point 1:/ }).element() as HTMLElement).focus();
  await userEvent.keyboard('{ArrowUp}c');
  expect(line().points[0]).toMatchObject({ at: 15, curve: 's-curve' });
  expect(await accessibilityTroubles()).toEqual([]);
  // From the verse, 10 to 30 s, to the chorus, 40 to 60 s.
  await page.getByRole('combobox', { name: 'Section to copy lines from' }).selectOptions('Verse');
  await page.getByRole('combobox', { name: 'Section to copy lines to' }).selectOptions('Chorus');
  await button('Copy lines').click();
  expect(line().points.map(({ at }) => at)).toEqual(expect.arrayContaining([15, 20, 40, 45, 50]));
  await button(/^Undo copy lines of Bass to Chorus/).click();
  expect(line().points).toHaveLength(2);
});

test('a processor is switched by section', async () => {
  const engine = await openSong();
  await page.getByRole('button', { name: /^Bass/ }).first().click();
  const squeeze = page.getByRole('region', { name: 'Workbench: Bass' }).getByRole('button', { name: /^Compressor/ });
  await squeeze.first().click();
  const bridge = page
    .getByRole('group', { name: 'Sections that Compressor of Bass works in' })
    .getByRole('button', { name: 'Bridge' });
  await userEvent.click(bridge, { modifiers: ['Shift'] });
  expect(lastSession(engine).lines[0]).toMatchObject({ target: { of: 'bass', what: 'bypass', item: 'compressor' } });
  expect(lastSession(engine).lines[0]!.points.map(({ at, value }) => [at, value])).toEqual([
    [0, true],
    [30, false],
    [40, true],
  ]);
  expect(await accessibilityTroubles()).toEqual([]);
});

test('moves of an armed path become its line while the song plays, as one step; its level cannot be closed as a whole', async () => {
  const engine = await openSong();
  await openPath('Drums');
  await button('Automation …').click();
  await page.getByText('Write', { exact: true }).click();
  await userEvent.keyboard('{Escape}');
  await engine.play();
  await expect.element(button('Pause')).toBeVisible();
  const fader = page.getByRole('slider', { name: 'Fader of Drums' });
  (fader.element() as HTMLElement).focus();
  engine.seek(10);
  await userEvent.keyboard('{PageDown}');
  engine.seek(12);
  await userEvent.keyboard('{PageDown}');
  expect(lastSession(engine).lines).toEqual([]);
  engine.seek(14);
  (fader.element() as HTMLElement).blur();
  await expect.poll(() => lastSession(engine).lines).toHaveLength(1);
  const { points } = lastSession(engine).lines[0]!;
  expect([5, 10, 11.9, 12, 13.9, 14.1].map((at) => valueAt(points, at))).toEqual([0, -3, -3, -6, -6, 0]);
  await expect.element(button(/^Line: Fader/)).toBeVisible();
  (fader.element() as HTMLElement).focus();
  await userEvent.keyboard('{Home}');
  await expect.element(page.getByText(/The fader of Drums does not fit/)).toBeVisible();
  await button(/^Undo fader Drums/).click();
  expect(lastSession(engine).lines).toEqual([]);
  expect(lastSession(engine).groups[0]!.faderDb).toBe(0);
});

test('a line is drawn by a drag with Alt, as one step', async () => {
  const engine = await openSong(lined());
  await openPath('Drums');
  const strip = page.getByRole('slider', { name: 'Place in the song' }).element() as HTMLElement;
  strip.setPointerCapture = () => undefined;
  const { left, top, width, height } = strip.getBoundingClientRect();
  // The strip is 72 s long, and -60 to 12 dB high: from -12 dB at 18 s to -36 dB at 36 s.
  const at = (seconds: number, db: number) => ({
    ...{ clientX: left + (seconds / 72) * width, clientY: top + ((12 - db) / 72) * height },
    ...{ button: 0, bubbles: true, altKey: true },
  });
  strip.dispatchEvent(new PointerEvent('pointerdown', at(18, -12)));
  for (const share of [0.25, 0.5, 0.75, 1])
    strip.dispatchEvent(new PointerEvent('pointermove', at(18 + 18 * share, -12 - 24 * share)));
  strip.dispatchEvent(new PointerEvent('pointerup', at(36, -36)));
  const { points } = lastSession(engine).lines[0]!;
  // A place on the strip is half a decibel.
  expect(Math.abs(Number(valueAt(points, 27)) + 24)).toBeLessThanOrEqual(0.5);
  expect(valueAt(points, 10)).toBe(-6);
  await button(/^Undo draw Drums, fader/).click();
  expect(lastSession(engine).lines[0]!.points).toHaveLength(2);
});

test('tempo and meter change along the song, and sections lie on its bars: a bound that is moved takes what lines do along', async () => {
  const engine = await openSong();
  await openPath('Drums');
  await page
    .getByRole('group', { name: 'Sections that Drums plays in' })
    .getByRole('button', { name: 'Bridge' })
    .click();
  await button(/BPM/).click();
  await button('Add a tempo change at bar 2').click();
  await page.getByRole('textbox', { name: /^Tempo from tempo change 1/ }).fill('48');
  await userEvent.keyboard('{Enter}');
  expect(lastSession(engine).tempoChanges).toEqual([{ bar: 2, tempo: 48, how: 'step' }]);
  await button('Add a meter change at bar 2').click();
  expect(lastSession(engine).meterChanges).toEqual([{ bar: 2, meter: [4, 4] }]);
  await page.getByRole('button', { name: 'Remove meter change 1' }).click();
  expect(await accessibilityTroubles()).toEqual([]);
  await userEvent.keyboard('{Escape}');
  await button('Sections …').click();
  // Bar 2 begins at 2.5 s, and a bar is 5 s from there on: the bridge, at 30 s, is moved to bar 8, at 32.5 s.
  await page.getByRole('textbox', { name: /^First bar of section 3/ }).fill('8');
  await userEvent.keyboard('{Enter}');
  expect(lastSession(engine).sections[2]).toEqual({ name: 'Bridge', startSeconds: 32.5, endSeconds: 40 });
  expect(lastSession(engine).sections[1]!.endSeconds).toBe(32.5);
  expect(lastSession(engine).lines[0]!.points.map(({ at }) => at)).toEqual([0, 32.5, 40]);
  expect(await accessibilityTroubles()).toEqual([]);
});
