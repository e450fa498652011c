import { gzipSync } from 'node:zlib';
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

test('what the page opens with is less than 350 kB, packed as a server would', async () => {
  const { request } = app.page;
  const page = await (await request.get(app.page.url())).text();
  const files = [...page.matchAll(/<(?:script|link)[^>]+(?:src|href)="([^"]+\.(?:js|css))"/g)].map(([, file]) => file!);
  expect(files.length).toBeGreaterThan(1);
  let bytes = 0;
  for (const file of files) {
    const answer = await request.get(new URL(file, app.page.url()).href);
    bytes += gzipSync(await answer.body()).length;
  }
  expect(bytes).toBeLessThan(350_000);
});

test('the accessibility rules object to nothing', async () => {
  await app.page.getByRole('heading', { level: 1 }).waitFor();
  expect(await accessibilityTroubles(app.page)).toEqual([]);
});

test('the demo song opens by its address, and its rough can be heard at once', async () => {
  const demo = await openApp('?demo');
  try {
    await demo.page
      .getByRole('radio', { name: /^Rough/ })
      .and(demo.page.locator(':enabled'))
      .waitFor({ state: 'attached' });
    expect(await demo.page.getByRole('textbox', { name: 'Title of the song' }).inputValue()).toBe(
      'Two Lanterns Upstream',
    );
    expect(demo.troubles).toEqual([]);
  } finally {
    await demo.close();
  }
});

test('what is not there is answered with 404, not with the page', async () => {
  const answer = await app.page.request.get(new URL('demo-audio/nothing.wav', app.page.url()).href);
  expect(answer.status()).toBe(404);
});
