import { expect, test } from 'vitest';
import { page } from 'vitest/browser';
import type { Meters } from '../../../src/engine/engine.ts';
import { accessibilityTroubles, openSong } from './open-screen.ts';
import type { FakeEngine } from './fake-engine.ts';

const meters = (heard: Partial<Meters['heard']> = {}): Meters => ({
  seconds: 1,
  heard: {
    ...{ left: { peakDb: -6, rmsDb: -18 }, right: { peakDb: -7, rmsDb: -20 }, truePeakDb: -5.2 },
    ...{ momentaryLufs: -17.4, shortTermLufs: -18.1, correlation: 0.62 },
    ...heard,
  },
  paths: new Map([['drums', { peakDb: -9, rmsDb: -27 }]]),
  reductions: new Map(),
  lateStretches: 0,
});

const tell = (engine: FakeEngine, read: Meters): void => engine.meterListeners.forEach((listener) => listener(read));
const figures = () => [...heard().element().querySelectorAll('dd')].map(({ textContent }) => textContent);
const heard = () => page.getByRole('group', { name: 'Meters of what is heard' });

test('what is heard is read in figures while it plays, and in none while nothing does', async () => {
  const engine = await openSong();
  await expect.poll(figures).toEqual(['–', '–', '–', '–']);
  await engine.play();
  tell(engine, meters());
  await expect.poll(figures).toEqual(['−17.4', '−18.1', '−5.2', '0.62']);
  const bar = page
    .getByRole('row', { name: /^Mute Drums/ })
    .element()
    .querySelector<HTMLElement>('.path-meter i')!;
  await expect.poll(() => bar.style.transform).toBe('scaleX(0.5)');
  expect(await accessibilityTroubles()).toEqual([]);
  engine.pause();
  await expect.poll(figures).toEqual(['–', '–', '–', '–']);
});

test('samples over full scale light a lamp until it is reset', async () => {
  const engine = await openSong();
  await engine.play();
  tell(engine, meters({ left: { peakDb: 0.5, rmsDb: -10 } }));
  const lamp = heard().getByRole('button', { name: /^(over|0 dB)$/ });
  await expect.element(lamp).toHaveTextContent('over');
  engine.pause();
  await lamp.click();
  await expect.element(lamp).toHaveTextContent('0 dB');
});

test('the spectrum of what is heard is drawn while it plays, over that of the rough', async () => {
  const engine = await openSong();
  const lines = (): (string | null)[] =>
    [
      ...page
        .getByRole('img', { name: /^Third-octave levels of what is heard/ })
        .element()
        .querySelectorAll('.chart-line'),
    ].map((line) => line.getAttribute('d'));
  await expect.poll(() => lines()[0]).toMatch(/^M/);
  expect(lines()[1] ?? '').toBe('');
  await engine.play();
  tell(engine, meters());
  // All third octaves are at -30 dB: a level line, three eighths down a picture of 80 dB.
  await expect.poll(() => lines()[1]).toMatch(/^M/);
  const heights = [...lines()[1]!.matchAll(/,([\d.]+)(?=[CL]|$)/g)].map(([, y]) => Number(y));
  for (const y of heights) expect(y).toBeCloseTo((58 * 30) / 80, 2);
  engine.pause();
  await expect.poll(() => lines()[1]).toBe('');
});
