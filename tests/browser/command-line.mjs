// What the tests in the browser ask of the process that runs them: files in a folder, and the built command line over them.
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { ensureBuilt } from '../../src/cli/build-cli.mjs';

/** @type {string | null} */
let folder = null;

function ownFolder() {
  if (folder !== null) return folder;
  const made = mkdtempSync(join(tmpdir(), 'tributary-browser-'));
  process.on('exit', () => rmSync(made, { recursive: true, force: true }));
  return (folder = made);
}

/**
 * Writes files, base64, into the folder that commands run over.
 * @param {unknown} _context
 * @param {readonly (readonly [name: string, content: string])[]} files
 */
export function keepFiles(_context, files) {
  for (const [name, content] of files) writeFileSync(join(ownFolder(), name), Buffer.from(content, 'base64'));
}

/**
 * Runs one command over a file that was kept.
 * @param {unknown} _context
 * @param {string} command
 * @param {string} file
 * @returns {Promise<{ code: number, out: string, err: string }>}
 */
export async function commandLine(_context, command, file) {
  const { main } = await import(pathToFileURL(join(await ensureBuilt(() => {}), 'main.js')).href);
  let [out, err] = ['', ''];
  const streams = {
    out: (/** @type {string} */ text) => (out += text),
    err: (/** @type {string} */ text) => (err += text),
    watched: false,
  };
  const code = await main([command, join(ownFolder(), file), '--json'], streams);
  return { code, out, err };
}
