import { unzipSync } from 'fflate';
import { mkdtempSync, readFileSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Locator, Page } from 'playwright';
import { expect } from 'vitest';
import { main } from '../../src/cli/main.ts';
import { readWav } from '../../src/files/wav/wav-read.ts';

/** -140 dBFS. */
const NULL_FLOOR = 1e-7;

type Files = ReadonlyMap<string, Uint8Array>;

/** Waits until the page can print. */
export const untilPrintable = (page: Page): Promise<void> =>
  page
    .getByRole('button', { name: /^Print/ })
    .and(page.locator(':enabled'))
    .waitFor();

/** Prints as 32-bit float through the dialogue, with what is chosen there, and hands over the sound files by name. */
export const printFromApp = async (page: Page, choose: (dialog: Locator) => Promise<void>): Promise<Files> => {
  await page.getByRole('button', { name: /^Print/ }).click();
  const dialog = page.getByRole('dialog');
  await dialog.getByText('32 bit float', { exact: true }).click();
  await choose(dialog);
  await dialog.getByRole('button', { name: 'Print', exact: true }).click();
  // All in one: the browser starts no more than ten downloads a second.
  const [download] = await Promise.all([
    page.waitForEvent('download'),
    dialog.getByRole('button', { name: 'Download all' }).click(),
  ]);
  const zip = unzipSync(readFileSync(await download.path()));
  const files = new Map(Object.entries(zip).filter(([name]) => name.endsWith('.wav')));
  await dialog.getByRole('button', { name: 'Close', exact: true }).click();
  return files;
};

/** Prints a session file as 32-bit float through the command line; the sound files by name. */
export const printFromNode = async (session: string, ...args: readonly string[]): Promise<Files> => {
  const out = mkdtempSync(join(tmpdir(), 'tributary-print-'));
  const said: string[] = [];
  const streams = { out: () => {}, err: (text: string) => said.push(text), watched: false };
  const code = await main(['print', session, '--out', out, '--bits', '32f', ...args], streams);
  expect([code, said]).toEqual([0, []]);
  const names = readdirSync(out).filter((name) => name.endsWith('.wav'));
  const files = new Map(names.map((name) => [name, readFileSync(join(out, name))]));
  rmSync(out, { recursive: true });
  return files;
};

/** Both are the same files, and each null against the other is below -140 dBFS. */
export const expectNull = (fromApp: Files, fromNode: Files): void => {
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
