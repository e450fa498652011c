import { expect, onTestFinished, test } from 'vitest';
import { cdp, page } from 'vitest/browser';
import type { Meters } from '../../../src/engine/engine.ts';
import { openSong } from './open-screen.ts';

// WCAG 2.2, 2.3.3 (animation from interactions), by the system's setting (Media Queries 5, prefers-reduced-motion).

const devtools = (): { send: (method: string, params: object) => Promise<unknown> } => cdp() as never;
const setMotion = (value: 'reduce' | 'no-preference'): Promise<unknown> =>
  devtools().send('Emulation.setEmulatedMedia', { features: [{ name: 'prefers-reduced-motion', value }] });

/** Elements of which something moves for some time. */
const moving = (): string[] =>
  [...document.querySelectorAll('*')].flatMap((element) =>
    [null, '::before', '::after'].flatMap((part) => {
      const { transitionDuration, animationDuration, scrollBehavior } = getComputedStyle(element, part);
      const lasts = `${transitionDuration}, ${animationDuration}`.split(', ').some((time) => parseFloat(time) > 0);
      return lasts || scrollBehavior === 'smooth' ? [`${element.tagName} ${element.className}${part ?? ''}`] : [];
    }),
  );

test('nothing moves by itself where the system asks for less motion, and meters are drawn four times a second', async () => {
  onTestFinished(async () => void (await setMotion('no-preference')));
  await setMotion('no-preference');
  const engine = await openSong();
  (page.getByRole('button', { name: 'Compressor of Drum squeeze' }).element() as HTMLElement).click();
  await expect.element(page.getByRole('slider', { name: 'Threshold', exact: true })).toBeInTheDocument();
  expect(moving()).not.toEqual([]);
  await setMotion('reduce');
  await expect.poll(moving).toEqual([]);

  await engine.play();
  const drawn = new Set<string>();
  const figures = (): string => page.getByRole('group', { name: 'Meters of what is heard' }).element().textContent;
  const read = (momentaryLufs: number): Meters => ({
    seconds: 1,
    heard: {
      ...{ left: { peakDb: -6, rmsDb: -18 }, right: { peakDb: -7, rmsDb: -20 }, truePeakDb: -5.2 },
      ...{ momentaryLufs, shortTermLufs: -18.1, correlation: 0.62 },
    },
    paths: new Map(),
    reductions: new Map(),
    lateStretches: 0,
  });
  const begun = performance.now();
  let frames = 0;
  while (frames < 30) {
    for (const tell of engine.meterListeners) tell(read(-10 - ++frames / 10));
    await new Promise((resolve) => requestAnimationFrame(resolve));
    drawn.add(figures());
  }
  expect(drawn.size).toBeGreaterThan(0);
  expect(drawn.size).toBeLessThanOrEqual(2 + (performance.now() - begun) / 250);
});
