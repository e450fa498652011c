import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { build } from 'vite';
import { root } from '../../src/cli/ensure-dependencies.mjs';

/**
 * Builds a TypeScript module of this folder so that Node can import it.
 * @param {string} name of the file, without ending @param {string} folder where the bundle goes
 * @returns {Promise<string>} the address to import it from
 */
export async function bundled(name, folder) {
  await build({
    root,
    configFile: false,
    logLevel: 'silent',
    publicDir: false,
    ssr: { noExternal: true },
    build: {
      ssr: true,
      rollupOptions: {
        input: join(root, `tests/bench/${name}.ts`),
        output: { entryFileNames: `${name}.mjs` },
      },
      outDir: folder,
      emptyOutDir: false,
      minify: false,
      target: 'node20',
    },
  });
  return pathToFileURL(join(folder, `${name}.mjs`)).href;
}
