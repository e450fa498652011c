import { expect, test, vi } from 'vitest';
import { page } from 'vitest/browser';
import type { FakeEngine } from './fake-engine.ts';
import { fakeGuards } from './fake-answers.ts';
import { NO_STORAGE } from '../../../src/engine/worker/app-store.ts';
import { openSong } from './open-screen.ts';

// WCAG 2.2, 4.1.3 (status messages): what changes by itself is told without taking the focus.

const said = (): string => document.querySelector('p[aria-live="polite"]')!.textContent;
const render = (engine: FakeEngine, phase: 'rendering' | 'ready'): void =>
  engine.show({ state: { phase, progress: 0.5, message: '' } });

test('a rendering that took long is told once it is done, and guards that break or hold again; nothing takes the focus', async () => {
  const now = performance.now.bind(performance);
  let later = 0;
  const clock = vi.spyOn(performance, 'now').mockImplementation(() => now() + later);
  try {
    const engine = await openSong();
    // One is broken from the start.
    expect(fakeGuards.map(({ pass }) => pass)).toEqual([true, false]);
    const focused = document.activeElement;
    const { findings } = engine.view;
    const tell = (pass: boolean): void =>
      engine.show({ findings: { ...findings, guards: fakeGuards.map((guard) => ({ ...guard, pass })) } });
    tell(true);
    await expect.poll(said).toBe('All guards hold again.');
    render(engine, 'rendering');
    // Until the screen has seen it.
    await expect.poll(() => document.querySelector('header [role="status"]')!.textContent).toBe('Rendering');
    later += 3000;
    render(engine, 'ready');
    await expect.poll(said).toBe('The mix is rendered.');
    tell(false);
    await expect.poll(said).toBe('2 guards broken: true-peak ceiling, width change.');
    expect(document.activeElement).toBe(focused);
  } finally {
    clock.mockRestore();
  }
});

test('a browser that keeps no sound on disk is told of in one sentence; read once, it does not come back', async () => {
  const engine = await openSong();
  const sentence = page.getByRole('status').getByText(NO_STORAGE);
  engine.show({ storage: NO_STORAGE });
  await expect.element(sentence).toBeVisible();
  await page.getByRole('button', { name: 'Close the notice' }).click();
  await expect.element(sentence).not.toBeInTheDocument();
  engine.show({ measuredPart: 0.5 });
  await expect.element(sentence).not.toBeInTheDocument();
});

test('a saved pass and a sweep are told, the same words twice too', async () => {
  await openSong();
  await page.getByText('Compare …').click();
  await page.getByRole('textbox', { name: 'Name of the pass' }).fill('Loud chorus');
  await page.getByRole('button', { name: 'Save pass' }).click();
  await expect.poll(said).toBe('Loud chorus is saved.');
  await page.getByRole('button', { name: 'Tape colour', exact: true }).click();
  await page.getByText('Blend sweep').click();
  await page.getByRole('button', { name: 'Sweep Tape colour' }).click();
  await expect.poll(said).toBe('The sweep is done.');
  await page.getByRole('button', { name: 'Sweep again' }).click();
  await expect.poll(said).toBe('The sweep is done.\u00a0');
});
