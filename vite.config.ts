import { cpSync, createReadStream, statSync } from 'node:fs';
import { extname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { svelte } from '@sveltejs/vite-plugin-svelte';
import { defineConfig, type Plugin } from 'vite';
import { contentSecurityPolicy, offline, withoutEval } from './src/ui/offline/offline.mjs';

/** What the bundler tells of its modules. */
interface ModuleGraph {
  getModuleInfo(id: string): { readonly importers: readonly string[] } | null;
}

const root = fileURLToPath(new URL('.', import.meta.url));
const entry = join(root, 'src/ui/main.ts');
const demoFolder = join(root, 'demo-audio');
const mimeTypes: Record<string, string> = { '.wav': 'audio/wav', '.flac': 'audio/flac', '.json': 'application/json' };

/** Puts the demo song beside the app, at demo-audio/: copied into a build, read from its folder in development. */
function demoAudio(): Plugin {
  return {
    name: 'demo-audio',
    configureServer(server) {
      server.middlewares.use('/demo-audio', (request, response, next) => {
        const file = join(demoFolder, decodeURIComponent(new URL(request.url ?? '/', 'http://localhost').pathname));
        const mimeType = mimeTypes[extname(file)];
        const size = statSync(file, { throwIfNoEntry: false })?.size;
        if (!file.startsWith(demoFolder) || !mimeType || size === undefined) return next();
        response.writeHead(200, { 'content-type': mimeType, 'content-length': size });
        createReadStream(file).pipe(response);
      });
    },
    writeBundle({ dir }) {
      // The generator stays behind: only what the app asks for goes along.
      const isWanted = (path: string): boolean => statSync(path).isDirectory() || extname(path) in mimeTypes;
      const target = join(dir ?? '', 'demo-audio');
      cpSync(demoFolder, target, { recursive: true, filter: (path) => !path.endsWith('generator') && isWanted(path) });
    },
  };
}

/**
 * Moves the imports of a worklet to its first lines, where the library that loads worklets looks for them. Comments, and
 * what Vitest writes on top, would hide them. A build needs nothing of this, for there a worklet is one bundle.
 */
function importsFirst(): Plugin {
  const isImport = (line: string): boolean => line.startsWith('import ');
  return {
    name: 'imports-first',
    enforce: 'post',
    transform(code, id) {
      if (!id.includes('worker_file')) return null;
      const lines = code.split('\n');
      return [...lines.filter(isImport), ...lines.filter((line) => !isImport(line))].join('\n');
    },
  };
}

/**
 * Puts all that the page opens with into one file. What comes later uses much of it, for which the bundler would make some sixty small
 * files otherwise, each with a request of its own.
 */
function ofThePage(id: string, graph: ModuleGraph): string | null {
  const known = new Set<string>();
  const isReached = (module: string): boolean => {
    if (module === entry) return true;
    if (known.has(module)) return false;
    known.add(module);
    return graph.getModuleInfo(module)?.importers.some(isReached) ?? false;
  };
  return isReached(id) ? 'page' : null;
}

/** What the app and the tests in the browser are built with. */
export const appPlugins = () => [svelte(), demoAudio(), importsFirst()];

export default defineConfig({
  root: join(root, 'src/ui'),
  base: './',
  // What is not there is answered with 404, never with the page.
  appType: 'mpa',
  publicDir: false,
  plugins: [...appPlugins(), withoutEval(), offline()],
  preview: { headers: { 'content-security-policy': contentSecurityPolicy } },
  server: { fs: { allow: [root] } },
  build: {
    outDir: join(root, 'dist'),
    emptyOutDir: true,
    target: 'es2022',
    reportCompressedSize: false,
    rolldownOptions: { output: { codeSplitting: { groups: [{ name: ofThePage }] } } },
  },
  worker: { format: 'es', plugins: () => [withoutEval()] },
});
