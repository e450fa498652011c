import { existsSync, readdirSync, renameSync, rmSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { root } from './ensure-dependencies.mjs';
import { fingerprint } from './fingerprint.mjs';
import { withLock } from './lock.mjs';

const builds = join(root, 'dist-cli');

/** A build that is no longer current is kept this long (ms): a command started from it may still load parts of it. */
const KEPT = 60 * 60_000;

/** @param {string} current */
function removeOldBuilds(current) {
  for (const name of readdirSync(builds)) {
    const folder = join(builds, name);
    if (name !== current && Date.now() - statSync(folder).mtimeMs > KEPT)
      rmSync(folder, { recursive: true, force: true });
  }
}

/** Settings of every build that is made by a script: without config file, public folder and log. */
export const scriptBuild = /** @type {const} */ ({ root, configFile: false, logLevel: 'silent', publicDir: false });

/** @param {string} outDir */
async function buildInto(outDir) {
  const { build } = await import('vite');
  await build({
    ...scriptBuild,
    build: {
      ssr: true,
      rollupOptions: {
        input: ['main', 'measure-worker', 'render-thread'].map((name) => `src/cli/${name}.ts`).concat('src/index.ts'),
        // All in one folder, so that every part finds the thread's file next to its own.
        output: { chunkFileNames: '[name]-[hash].js' },
      },
      outDir,
      emptyOutDir: true,
      target: 'node20',
      sourcemap: true,
    },
  });
}

/**
 * Builds the command line, and what scripts import, from their sources unless that was done. Each state of the sources has a folder of its own that
 * appears whole, so commands that run at the same time never see half a build.
 * @param {(line: string) => void} tell called once, before the wait
 * @returns {Promise<string>} the folder of main.js and index.js
 */
export async function ensureBuilt(tell) {
  const name = fingerprint(['src', 'presets', 'package-lock.json'], ['src/ui']);
  const folder = join(builds, name);
  if (existsSync(folder)) return folder;
  await withLock(join(root, '.build-cli.lock'), async () => {
    if (existsSync(folder)) return;
    tell('Building the command line ...');
    const unfinished = join(builds, `unfinished-${process.pid}`);
    await buildInto(unfinished);
    renameSync(unfinished, folder);
    removeOldBuilds(name);
  });
  return folder;
}
