#!/usr/bin/env node
// Writes the demo song again: bundles the generator for Node, then runs it. Usage: node demo-audio/generator/run.mjs [FOLDER]
import { dirname, join, resolve } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { build } from 'vite';

const here = dirname(fileURLToPath(import.meta.url));
const root = join(here, '../..');
const outDir = join(root, 'node_modules/.cache/demo-audio');

await build({
  root,
  configFile: false,
  logLevel: 'warn',
  build: {
    ssr: join(here, 'write.ts'),
    outDir,
    emptyOutDir: true,
    rollupOptions: { output: { entryFileNames: 'write.js' } },
  },
});
const { writeSong } = await import(pathToFileURL(join(outDir, 'write.js')).href);
writeSong(resolve(process.argv[2] ?? join(here, '..')));
