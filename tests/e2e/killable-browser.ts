import { spawn } from 'node:child_process';
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { chromium, type BrowserContext } from 'playwright';
import { chromiumAtHand, chromiumFlags } from '../find-chromium.mjs';

/** A Chromium with a profile on disk, of which every process can be ended at any moment. */
export interface KillableBrowser {
  readonly context: BrowserContext;
  /** SIGKILL to all of its processes; resolves when they are gone. */
  readonly kill: () => Promise<void>;
}

export const freshProfile = (): string => mkdtempSync(join(tmpdir(), 'tributary-profile-'));

/** Starts it by itself, in a group of processes of its own: what Playwright starts does not tell its process. */
export const startBrowser = async (profile: string): Promise<KillableBrowser> => {
  const flags = ['--headless=new', '--remote-debugging-port=0', `--user-data-dir=${profile}`, '--no-first-run'];
  const path = chromiumAtHand() ?? chromium.executablePath();
  const child = spawn(path, [...chromiumFlags, ...flags, 'about:blank'], {
    detached: true,
    stdio: ['ignore', 'ignore', 'pipe'],
  });
  const ended = new Promise<void>((resolve) => child.once('exit', () => resolve()));
  const address = await new Promise<string>((resolve, reject) => {
    const said: string[] = [];
    createInterface({ input: child.stderr }).on('line', (line) => {
      said.push(line);
      const found = /DevTools listening on (ws:\S+)/.exec(line);
      if (found) resolve(found[1]!);
    });
    void ended.then(() => reject(new Error(`Chromium ended before it listened: ${said.join('\n')}`)));
  });
  const browser = await chromium.connectOverCDP(address);
  return {
    context: browser.contexts()[0]!,
    kill: async () => {
      process.kill(-child.pid!, 'SIGKILL');
      await ended;
    },
  };
};
