import { execFileSync, spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { brotliDecompressSync } from 'node:zlib';
import { root } from '../src/cli/ensure-dependencies.mjs';
import { SetupError } from '../src/cli/setup-error.mjs';

/** Flags of every Chromium that the tests start: usable as root, sound without a click, not a byte to other machines. */
export const chromiumFlags = [
  '--no-sandbox',
  '--autoplay-policy=no-user-gesture-required',
  '--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE localhost, EXCLUDE 127.0.0.1',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-domain-reliability',
  '--disable-sync',
  '--no-pings',
];

const usualPlaces = [
  '/usr/bin/chromium',
  '/usr/bin/chromium-browser',
  '/usr/bin/google-chrome',
  '/Applications/Chromium.app/Contents/MacOS/Chromium',
  '/Applications/Google Chrome.app/Contents/MacOS/Google Chrome',
];

/** The Chromium to use without a search; undefined leaves the choice to Playwright. */
export const chromiumAtHand = () => process.env['CHROMIUM_PATH'] ?? usualPlaces.find((place) => existsSync(place));

/** Whether `file` is a Chromium that starts here: asking its version also loads all of its libraries. @param {string} file */
function starts(file) {
  const { status, stdout } = spawnSync(file, ['--version'], { encoding: 'utf8', timeout: 30_000 });
  return status === 0 && /\d+\.\d+/.test(stdout);
}

async function fromPlaywright() {
  const { chromium } = await import('playwright');
  return chromium.executablePath();
}

/**
 * The Chromium that comes as a package (Linux on x64), unpacked once into node_modules/.cache. It brings the libraries
 * and fonts that a bare system lacks.
 */
function fromPackage() {
  if (process.platform !== 'linux' || process.arch !== 'x64') return undefined;
  const packed = join(root, 'node_modules/@sparticuz/chromium');
  const { version } = JSON.parse(readFileSync(join(packed, 'package.json'), 'utf8'));
  const folder = join(root, 'node_modules/.cache', `chromium-${version}`);
  if (!existsSync(folder)) unpack(join(packed, 'bin'), folder);
  return join(folder, 'start');
}

const startScript = `#!/bin/sh
here=$(dirname "$0")
FONTCONFIG_FILE=$here/fonts-here.conf LD_LIBRARY_PATH=$here/lib exec "$here/chromium" "$@"
`;

/** Its cache would else be written into the folder that the tests run in. @param {string} folder */
const fontsIn = (folder) => `<?xml version="1.0"?>
<fontconfig>
  <dir>/usr/share/fonts</dir>
  <dir prefix="relative">fonts</dir>
  <cachedir>${folder}/font-cache</cachedir>
</fontconfig>
`;

/** @param {string} packed @param {string} folder */
function unpack(packed, folder) {
  const unfinished = `${folder}-${process.pid}`;
  mkdirSync(unfinished, { recursive: true });
  /** @param {string} name */
  const read = (name) => brotliDecompressSync(readFileSync(join(packed, name)));
  for (const name of ['al2023.tar.br', 'fonts.tar.br']) {
    execFileSync('tar', ['-x', '-C', unfinished, '--no-same-owner'], { input: read(name) });
  }
  writeFileSync(join(unfinished, 'fonts-here.conf'), fontsIn(folder));
  writeFileSync(join(unfinished, 'chromium'), read('chromium.br'), { mode: 0o755 });
  writeFileSync(join(unfinished, 'start'), startScript, { mode: 0o755 });
  try {
    renameSync(unfinished, folder);
  } catch {
    // Another run was quicker; its copy is the same.
    rmSync(unfinished, { recursive: true, force: true });
  }
}

/** Installs the system's own package. @param {(line: string) => void} tell */
function fromSystemPackages(tell) {
  if (process.getuid?.() !== 0 || spawnSync('apt-get', ['--version']).status !== 0) return undefined;
  tell('Installing Chromium with apt-get ...');
  const env = { ...process.env, DEBIAN_FRONTEND: 'noninteractive' };
  spawnSync('apt-get', ['update'], { env });
  spawnSync('apt-get', ['install', '-y', '--no-install-recommends', 'chromium'], { env });
  return '/usr/bin/chromium';
}

/**
 * The Chromium that the tests run in: the one named by CHROMIUM_PATH, one that is installed, the packaged one, or, as
 * root, one that is installed now.
 * @param {(line: string) => void} tell told before a wait
 * @returns {Promise<string>} its path
 */
export async function findChromium(tell) {
  const named = process.env['CHROMIUM_PATH'];
  if (named) {
    if (starts(named)) return named;
    throw new SetupError(`CHROMIUM_PATH: expected a Chromium that starts, found "${named}", which does not.`);
  }
  const sources = [
    ...usualPlaces.map((place) => () => place),
    fromPlaywright,
    fromPackage,
    () => fromSystemPackages(tell),
  ];
  for (const source of sources) {
    // A source that fails (a package that is not there, a full disk) is no reason to leave out the next one.
    const file = await Promise.resolve()
      .then(source)
      .catch(() => undefined);
    if (file && existsSync(file) && starts(file)) return file;
  }
  throw new SetupError(
    'No Chromium was found that starts here: install one (on Debian "apt-get install chromium", elsewhere ' +
      '"npx playwright install chromium"), or name one in CHROMIUM_PATH.',
  );
}
