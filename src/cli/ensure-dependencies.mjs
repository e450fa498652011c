import { spawn } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { withLock } from './lock.mjs';
import { SetupError } from './setup-error.mjs';

/** The folder of package.json. */
export const root = fileURLToPath(new URL('../..', import.meta.url)).replace(/[\\/]$/, '');

/** @param {string} file */
const readJson = (file) => JSON.parse(readFileSync(file, 'utf8'));

/** Node 20.19 is the first that the build tools run on. */
export function requireNode() {
  const [major = 0, minor = 0] = process.versions.node.split('.').map(Number);
  if (major > 20 || (major === 20 && minor >= 19)) return;
  throw new SetupError(
    `Tributary needs Node 20.19 or newer, this is ${process.versions.node}: get one from https://nodejs.org/.`,
  );
}

/**
 * Whether node_modules holds what package-lock.json names. npm keeps its own account of what it installed and writes
 * it last, so this sees an interrupted install and accepts one made by hand.
 */
function isInstalled() {
  const account = join(root, 'node_modules/.package-lock.json');
  if (!existsSync(account)) return false;
  const installed = readJson(account).packages;
  // Optional packages are those of other systems: they may be missing, but not be of another version.
  return Object.entries(readJson(join(root, 'package-lock.json')).packages).every(
    ([path, wanted]) =>
      path === '' || (installed[path] ? installed[path].version === wanted.version : wanted.optional === true),
  );
}

/**
 * Runs npm in the project folder and keeps its output.
 * @param {string[]} args
 * @returns {Promise<{ code: number | null, output: string }>}
 */
function npm(args) {
  const own = process.env['npm_execpath'];
  const [command, first] = own?.endsWith('.js') ? [process.execPath, [own]] : ['npm', []];
  return new Promise((resolve, reject) => {
    const child = spawn(command, [...first, ...args], {
      cwd: root,
      stdio: ['ignore', 'pipe', 'pipe'],
      shell: command === 'npm' && process.platform === 'win32',
    });
    let output = '';
    child.stdout.on('data', (text) => (output += text));
    child.stderr.on('data', (text) => (output += text));
    child.on('error', reject);
    child.on('close', (code) => resolve({ code, output }));
  });
}

/**
 * Installs the packages of package-lock.json if they are missing or of other versions.
 * @param {(line: string) => void} tell called once, before the wait
 */
export async function ensureDependencies(tell) {
  if (isInstalled()) return;
  await withLock(join(root, '.install.lock'), async () => {
    if (isInstalled()) return;
    tell('Installing packages (once, and again when package-lock.json changes) ...');
    // `npm run -s` would pass its log level on, and the reason of a failure would be lost.
    const { code, output } = await npm(['ci', '--include=dev', '--no-audit', '--no-fund', '--loglevel=error']);
    if (code === 0) return;
    throw new SetupError(
      `${output.trim()}\nThe packages could not be installed (npm ci answered ${code}): check the network and the message above, then try again.`,
    );
  });
}
