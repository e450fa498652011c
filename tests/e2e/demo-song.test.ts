import { mkdtempSync, readFileSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Locator } from 'playwright';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { main } from '../../src/cli/main.ts';
import { readWav } from '../../src/files/wav-read.ts';
import { openApp, type OpenApp } from './open-app.ts';

/** -140 dBFS. */
const NULL_FLOOR = 1e-7;
const SESSION = 'demo-audio/session.json';

let app: OpenApp;
const folder = mkdtempSync(join(tmpdir(), 'tributary-e2e-'));

beforeAll(async () => {
  app = await openApp('?demo');
  await app.page
    .getByRole('button', { name: /^Print/ })
    .and(app.page.locator(':enabled'))
    .waitFor();
});

afterAll(async () => {
  await app.close();
  rmSync(folder, { recursive: true });
});

/** Prints as 32-bit float through the dialogue, with what is chosen there, and hands over the sound files. */
const printFromApp = async (choose: (dialog: Locator) => Promise<void>): Promise<Map<string, Uint8Array>> => {
  const { page } = app;
  await page.getByRole('button', { name: /^Print/ }).click();
  const dialog = page.getByRole('dialog');
  await dialog.getByText('WAV 32 bit float').click();
  await choose(dialog);
  await dialog.getByRole('button', { name: 'Print', exact: true }).click();
  const all = dialog.getByRole('button', { name: 'Download all' });
  await all.waitFor();
  const files = new Map<string, Uint8Array>();
  for (const button of await dialog.getByRole('button', { name: /^Download .*\.wav$/ }).all()) {
    const [download] = await Promise.all([page.waitForEvent('download'), button.click()]);
    files.set(download.suggestedFilename(), readFileSync(await download.path()));
  }
  await dialog.getByRole('button', { name: 'Close', exact: true }).click();
  return files;
};

/** Prints through the command line; the sound files by name. */
const printFromNode = async (...args: readonly string[]): Promise<Map<string, Uint8Array>> => {
  const out = mkdtempSync(join(folder, 'print-'));
  const said: string[] = [];
  const streams = { out: () => {}, err: (text: string) => said.push(text), watched: false };
  const code = await main(['print', SESSION, '--out', out, '--bits', '32f', ...args], streams);
  expect([code, said]).toEqual([0, []]);
  const names = readdirSync(out).filter((name) => name.endsWith('.wav'));
  return new Map(names.map((name) => [name, readFileSync(join(out, name))]));
};

const expectNull = (fromApp: ReadonlyMap<string, Uint8Array>, fromNode: ReadonlyMap<string, Uint8Array>): void => {
  expect([...fromApp.keys()].sort()).toEqual([...fromNode.keys()].sort());
  for (const [name, bytes] of fromNode) {
    const node = readWav(bytes, name);
    const page = readWav(fromApp.get(name)!, name);
    expect(page.sampleRate, name).toBe(node.sampleRate);
    let residual = 0;
    node.channels.forEach((channel, n) => {
      const other = page.channels[n]!;
      expect(other.length, name).toBe(channel.length);
      for (let i = 0; i < channel.length; i++) residual = Math.max(residual, Math.abs(channel[i]! - other[i]!));
    });
    expect(residual, name).toBeLessThan(NULL_FLOOR);
  }
};

test('what the app prints and what the command line prints null below -140 dBFS, path by path', async () => {
  const fromNode = await printFromNode('--kinds', 'main,stems');
  const fromApp = await printFromApp((dialog) => dialog.getByRole('checkbox', { name: /^Stems:/ }).check());
  expect(fromNode.size).toBeGreaterThan(15);
  expectNull(fromApp, fromNode);
});

test('so they do with and without voices, at another rate and brought to a loudness', async () => {
  const kinds = 'main,instrumental,a-cappella';
  const fromNode = await printFromNode('--kinds', kinds, '--rate', '44100', '--target', '-18', '--ceiling', '-2');
  const fromApp = await printFromApp(async (dialog) => {
    await dialog.getByLabel('Sample rate').selectOption('44100');
    for (const kind of [/Instrumental/, /A cappella/]) await dialog.getByRole('checkbox', { name: kind }).check();
    await dialog.getByRole('checkbox', { name: 'Loudness target' }).check();
    await dialog.getByRole('textbox', { name: 'Loudness target' }).fill('-18');
    await dialog.getByRole('checkbox', { name: 'True-peak ceiling' }).check();
    await dialog.getByRole('textbox', { name: 'True-peak ceiling' }).fill('-2');
    await dialog.getByRole('textbox', { name: 'True-peak ceiling' }).blur();
  });
  expect(fromNode.size).toBe(3);
  expectNull(fromApp, fromNode);
});
