import { mkdtempSync, readFileSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { main } from '../../src/cli/main.ts';
import { readWav } from '../../src/files/wav-read.ts';
import { openApp, type OpenApp } from './open-app.ts';

/** -140 dBFS. */
const NULL_FLOOR = 1e-7;
const SESSION = 'demo-audio/session.json';
/** The demo song is rendered and measured on machines with two busy cores. */
const PATIENCE = 180_000;

let app: OpenApp;
const folder = mkdtempSync(join(tmpdir(), 'tributary-e2e-'));

beforeAll(async () => {
  app = await openApp();
  await app.page
    .getByRole('button', { name: /^Print/ })
    .and(app.page.locator(':enabled'))
    .waitFor({ timeout: PATIENCE });
}, PATIENCE);

afterAll(async () => {
  await app.close();
  rmSync(folder, { recursive: true });
});

/** Prints the main mix and all stems as 32-bit float through the dialogue, and saves them in `folder`. */
const printFromApp = async (): Promise<Map<string, Uint8Array>> => {
  const { page } = app;
  await page.getByRole('button', { name: /^Print/ }).click();
  const dialog = page.getByRole('dialog');
  await dialog.getByText('WAV 32 bit float').click();
  await dialog.getByRole('checkbox', { name: /Stems/ }).check();
  await dialog.getByRole('button', { name: 'Print', exact: true }).click();
  const all = dialog.getByRole('button', { name: 'Download all' });
  await all.waitFor({ timeout: PATIENCE });
  const files = new Map<string, Uint8Array>();
  for (const button of await dialog.getByRole('button', { name: /^Download .*\.wav$/ }).all()) {
    const [download] = await Promise.all([page.waitForEvent('download'), button.click()]);
    files.set(download.suggestedFilename(), readFileSync(await download.path()));
  }
  await dialog.getByRole('button', { name: 'Close', exact: true }).click();
  return files;
};

test(
  'what the app prints and what the command line prints null below -140 dBFS, path by path',
  async () => {
    const said: string[] = [];
    const streams = { out: () => {}, err: (text: string) => said.push(text), watched: false };
    const code = await main(['bounce', SESSION, '--out', folder, '--bits', '32f', '--kinds', 'main,stems'], streams);
    expect([code, said]).toEqual([0, []]);
    const printed = await printFromApp();
    const names = readdirSync(folder).filter((name) => name.endsWith('.wav'));
    expect([...printed.keys()].sort()).toEqual(names.sort());
    expect(names.length).toBeGreaterThan(15);
    for (const name of names) {
      const fromNode = readWav(readFileSync(join(folder, name)), name);
      const fromApp = readWav(printed.get(name)!, name);
      let residual = 0;
      fromNode.channels.forEach((channel, n) => {
        const other = fromApp.channels[n]!;
        expect(other.length, name).toBe(channel.length);
        for (let i = 0; i < channel.length; i++) residual = Math.max(residual, Math.abs(channel[i]! - other[i]!));
      });
      expect(residual, name).toBeLessThan(NULL_FLOOR);
    }
  },
  2 * PATIENCE,
);
