#!/usr/bin/env node
// `npm run -s tributary -- COMMAND ...`: installs and builds what is missing, then runs the command line.
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { ensureBuilt } from './build-cli.mjs';
import { ensureDependencies, requireNode, root } from './ensure-dependencies.mjs';
import { runEntry } from './setup-error.mjs';

/** Exit code when the command line itself could not be built (0, 1 and 2 are the commands' own). */
const NOT_READY = 3;

/** npm runs scripts in the folder of package.json; the files that the user names are relative to the folder of the call. */
function returnToCaller() {
  const caller = process.env['INIT_CWD'];
  const byNpm = process.env['npm_lifecycle_event'] === 'tributary' && process.cwd() === root;
  if (byNpm && caller && existsSync(caller)) process.chdir(caller);
}

/** Standard output belongs to the command; messages before it go to a terminal only. @param {string} line */
const tell = (line) => {
  if (process.stderr.isTTY) console.error(line);
};

// A reader that closes the pipe early (`| head`) is not an error.
process.stdout.on('error', (error) => {
  if (/** @type {NodeJS.ErrnoException} */ (error).code === 'EPIPE') process.exit();
  throw error;
});

await runEntry(async () => {
  requireNode();
  await ensureDependencies(tell);
  const { main } = await import(pathToFileURL(join(await ensureBuilt(tell), 'main.js')).href);
  returnToCaller();
  process.exitCode = await main(process.argv.slice(2));
}, NOT_READY);
