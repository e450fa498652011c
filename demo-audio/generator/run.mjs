#!/usr/bin/env node
// Writes the demo song again: bundles the generator for Node, then runs it. Usage: node demo-audio/generator/run.mjs [FOLDER]
// With --fit it leaves the sound alone, and lays the presets of the demo session's buses on them again, fitted to it.
import { dirname, join, resolve } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { build } from 'vite';

const args = process.argv.slice(2);
const isFit = args.includes('--fit');
const here = dirname(fileURLToPath(import.meta.url));
const root = join(here, '../..');
const outDir = join(root, 'node_modules/.cache/demo-audio');

await build({
  root,
  configFile: false,
  logLevel: 'warn',
  build: {
    ssr: join(here, isFit ? 'fit-session.ts' : 'write.ts'),
    outDir,
    emptyOutDir: true,
    rollupOptions: { output: { entryFileNames: 'made.js' } },
  },
});
const made = await import(pathToFileURL(join(outDir, 'made.js')).href);
const folder = resolve(args.find((arg) => arg !== '--fit') ?? join(here, '..'));
await (isFit ? made.fitSession(folder) : made.writeSong(folder));
