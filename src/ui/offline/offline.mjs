// What makes the built app work off line, and holds it to what it is served with.
import { createHash } from 'node:crypto';
import { copyFileSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join, sep } from 'node:path';
import { fileURLToPath } from 'node:url';

const here = fileURLToPath(new URL('.', import.meta.url));

/**
 * What the page and its workers may do (Content Security Policy Level 3, W3C). Nothing is fetched from, or sent to, another place. Text
 * is never run: 'wasm-unsafe-eval' lets WebAssembly be compiled, and nothing else; `blob:` is for the scripts of audio worklets, which
 * the audio library puts into blobs of what it fetched from here, and for the clock of the other one.
 */
export const contentSecurityPolicy = [
  "default-src 'none'",
  "script-src 'self' 'wasm-unsafe-eval' blob:",
  "worker-src 'self' blob:",
  "style-src 'self'",
  "img-src 'self' data: blob:",
  "font-src 'self' data:",
  "media-src 'self' blob:",
  "connect-src 'self' blob: data:",
  "manifest-src 'self'",
  "base-uri 'none'",
  "form-action 'none'",
  "frame-ancestors 'none'",
].join('; ');

/** What is large and not wanted by all: the demo song, and what mends lost packets of Opus. The worker keeps it once it is asked for. */
const isOnDemand = (/** @type {string} */ file) => /^(demo-audio\/|assets\/opus-ml)/.test(file);

/** @param {string} folder @returns {string[]} every file in it, with slashes */
const filesIn = (folder) =>
  readdirSync(folder, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile())
    .map((entry) =>
      join(entry.parentPath, entry.name)
        .slice(folder.length + 1)
        .split(sep)
        .join('/'),
    )
    .sort();

/** Puts the manifest and the service worker into a build: the latter is told the files of that build. @returns {import('vite').Plugin} */
export function offline() {
  const WORKER = 'service-worker.js';
  const MANIFEST = 'manifest.webmanifest';
  return {
    name: 'offline',
    apply: 'build',
    buildStart() {
      this.emitFile({ type: 'chunk', id: join(here, 'service-worker.ts'), fileName: WORKER });
    },
    transformIndexHtml: {
      order: 'post',
      handler: () => [{ tag: 'link', attrs: { rel: 'manifest', href: `./${MANIFEST}` }, injectTo: 'head' }],
    },
    writeBundle: {
      order: 'post',
      sequential: true,
      handler({ dir = '' }) {
        copyFileSync(join(here, MANIFEST), join(dir, MANIFEST));
        copyFileSync(join(here, '../icon.svg'), join(dir, 'icon.svg'));
        const files = filesIn(dir).filter((file) => ![WORKER, 'index.html'].includes(file) && !isOnDemand(file));
        const digest = createHash('sha256');
        for (const file of filesIn(dir)) digest.update(file).update(readFileSync(join(dir, file)));
        const built = JSON.stringify({ build: digest.digest('hex').slice(0, 16), files });
        const worker = join(dir, WORKER);
        writeFileSync(worker, `self.built=${built};\n${readFileSync(worker, 'utf8')}`);
      },
    },
  };
}

/**
 * Zod makes functions of text where it may. Our policy forbids that, and each try would be reported, so it is told so before it looks
 * (its own global setting). @returns {import('vite').Plugin}
 */
export function withoutEval() {
  return {
    name: 'without-eval',
    apply: 'build',
    transform(code, id) {
      if (!id.replaceAll('\\', '/').endsWith('/zod/v4/core/core.js')) return null;
      return { code: `globalThis.__zod_globalConfig = { jitless: true };\n${code}`, map: null };
    },
  };
}
