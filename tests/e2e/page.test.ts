import { afterAll, beforeAll, expect, test } from 'vitest';
import { accessibilityTroubles, type OpenApp, openApp } from './open-app.ts';

let app: OpenApp;
beforeAll(async () => {
  app = await openApp();
});
afterAll(() => app.close());

test('the page opens with its heading and without an error', async () => {
  await app.page.getByRole('heading', { level: 1 }).waitFor();
  expect(await app.page.title()).toContain('Tributary');
  expect(app.troubles).toEqual([]);
});

test('the accessibility rules object to nothing', async () => {
  await app.page.getByRole('heading', { level: 1 }).waitFor();
  expect(await accessibilityTroubles(app.page)).toEqual([]);
});

test('what is not there is answered with 404, not with the page', async () => {
  const answer = await app.page.request.get(new URL('demo-audio/nothing.wav', app.page.url()).href);
  expect(answer.status()).toBe(404);
});
