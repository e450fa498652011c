import { afterEach, expect, test, vi } from 'vitest';
import { page, userEvent } from 'vitest/browser';
import { filesOf } from '../../../src/engine/files-of-session.ts';
import { sessionText } from '../../../src/session/read/serialize.ts';
import { fakeSession } from './fake-session.ts';
import { accessibilityTroubles, audioFile, openEmpty } from './open-screen.ts';

afterEach(() => vi.unstubAllGlobals());

/** The demo song, as the server would give it. */
const serveDemo = (): void => {
  const song = fakeSession();
  const names = new Set(filesOf(song));
  vi.stubGlobal('fetch', (address: string | URL | Request) => {
    const url = String(address instanceof Request ? address.url : address);
    if (url.endsWith('session.json')) return Promise.resolve(new Response(sessionText(song)));
    const name = [...names].find((each) => url.endsWith(each));
    return Promise.resolve(name ? new Response(audioFile(name)) : new Response(null, { status: 404 }));
  });
};
const steps = page.getByRole('region', { name: 'First steps' });

test('the first time the demo is opened there are three steps, each ended by doing it, and never again', async () => {
  serveDemo();
  await openEmpty();
  await page.getByRole('button', { name: /demo/i }).first().click();
  await expect.element(steps).toHaveTextContent('1 of 3: Hear the rough');
  expect(await accessibilityTroubles()).toEqual([]);
  await userEvent.keyboard('1');
  await userEvent.keyboard(' ');
  await expect.element(steps).toHaveTextContent('2 of 3: Bring one bus up');
  await userEvent.keyboard('3');
  (page.getByRole('slider', { name: 'Blend of Drum squeeze' }).element() as HTMLElement).focus();
  await userEvent.keyboard('{ArrowUp}');
  await expect.element(steps).toHaveTextContent('3 of 3: Compare at matched loudness');
  await userEvent.keyboard('f');
  await expect.element(steps).toHaveTextContent('Those are the basics');
  await steps.getByRole('button', { name: 'Close' }).click();
  await expect.element(steps).not.toBeInTheDocument();
  expect(localStorage.getItem('tributary-first-visit')).toBe('seen');
});
