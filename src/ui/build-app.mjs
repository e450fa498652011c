import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { root } from '../cli/ensure-dependencies.mjs';
import { fingerprint } from '../cli/fingerprint.mjs';
import { withLock } from '../cli/lock.mjs';

const inputs = ['src', 'presets', 'demo-audio', 'package-lock.json', 'vite.config.ts', 'svelte.config.js'];
const stamp = join(root, 'dist/.built-from');

/** The Vite configuration of the app. */
export const configFile = join(root, 'vite.config.ts');

/** @param {string} state */
const isBuiltFrom = (state) => existsSync(stamp) && readFileSync(stamp, 'utf8') === state;

/**
 * Builds the app into dist/ from its sources unless that was done.
 * @param {(line: string) => void} tell told once, before the wait
 */
export async function ensureApp(tell) {
  const state = fingerprint(inputs, ['src/cli']);
  if (isBuiltFrom(state)) return;
  await withLock(join(root, '.build-app.lock'), async () => {
    if (isBuiltFrom(state)) return;
    tell('Building the app ...');
    const { build } = await import('vite');
    // Tests build it too, in an environment of their own: what is built is the same whoever asks.
    const environment = process.env['NODE_ENV'];
    process.env['NODE_ENV'] = 'production';
    try {
      await build({ configFile, logLevel: 'error' });
    } finally {
      if (environment === undefined) delete process.env['NODE_ENV'];
      else process.env['NODE_ENV'] = environment;
    }
    // Written last: a build that was interrupted has no stamp, for Vite empties the folder first.
    writeFileSync(stamp, state);
  });
}
