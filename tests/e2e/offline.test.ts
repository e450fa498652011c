import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { preview, type PreviewServer } from 'vite';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { writeWav } from '../../src/files/wav/wav-write.ts';
import { configFile } from '../../src/ui/build-app.mjs';
import { mono, sine } from '../helpers/signals.ts';
import { giveFiles, openApp, type OpenApp } from './open-app.ts';
import { untilPrintable } from './prints.ts';

const folder = mkdtempSync(join(tmpdir(), 'tributary-offline-'));
let server: PreviewServer;
let app: OpenApp;

beforeAll(async () => {
  writeFileSync(join(folder, 'bass.wav'), writeWav(mono(sine({ hz: 220, seconds: 3, db: -12 })), '24').bytes);
  // A server of its own, that can be shut down.
  server = await preview({ configFile, logLevel: 'error', preview: { host: '127.0.0.1', port: 0 } });
  app = await openApp(server.resolvedUrls!.local[0]);
});

afterAll(async () => {
  await app.close();
  rmSync(folder, { recursive: true });
});

/** Plays, and resolves when the song has moved on. */
const hear = async (): Promise<void> => {
  const { page } = app;
  await page.getByRole('button', { name: 'Play' }).click();
  await page.getByText(/^0:0[0-3]\.[1-9] of/).waitFor();
  await page.getByRole('button', { name: 'Pause' }).click();
};

test('text is never run, and nothing is fetched from elsewhere: the policy that the app is served with forbids it', async () => {
  const answer = await fetch(server.resolvedUrls!.local[0]!);
  const policy = answer.headers.get('content-security-policy') ?? '';
  const rules = new Map(policy.split('; ').map((rule) => [rule.split(' ')[0], rule.split(' ').slice(1)] as const));
  expect(rules.get('default-src')).toEqual(["'none'"]);
  for (const sources of rules.values())
    for (const source of sources)
      expect(["'none'", "'self'", "'wasm-unsafe-eval'", 'blob:', 'data:']).toContain(source);
  expect(rules.get('script-src')).not.toContain('data:');
});

test('under that policy all of it works: files are read, rendered, measured and heard, and kept', async () => {
  const { page } = app;
  await giveFiles(page, /^Add audio$/, [join(folder, 'bass.wav')]);
  await page.getByRole('button', { name: 'Add 1 file' }).click();
  await untilPrintable(page);
  await hear();
  await page.getByText('saved', { exact: true }).waitFor();
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => true));
  expect(app.troubles).toEqual([]);
});

test('off line it opens where it was left, renders and plays', async () => {
  const { page } = app;
  const closed = server.close();
  (server.httpServer as { closeAllConnections?: () => void }).closeAllConnections?.();
  await closed;
  await page.reload();
  await untilPrintable(page);
  await hear();
  expect(app.troubles.filter((trouble) => !/ERR_CONNECTION_REFUSED|^no answer/.test(trouble))).toEqual([]);
});
