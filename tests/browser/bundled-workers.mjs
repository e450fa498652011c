import { build } from 'vite';

const WORKER_FILE = /[?&]worker_file(&|$)/;
const WORKER_IMPORT = /\?worker(&|$)/;

/**
 * What a worker loads only when it is needed is asked of the server then: workers of its own, and decoders.
 * @returns {import('vite').Plugin}
 */
const askedForLater = () => ({
  name: 'asked-for-later',
  enforce: 'pre',
  async resolveId(source, importer, { kind }) {
    if (kind === 'dynamic-import') return { id: source, external: 'absolute' };
    if (!WORKER_IMPORT.test(source)) return null;
    const [path, query] = source.split('?');
    const resolved = await this.resolve(/** @type {string} */ (path), importer);
    return { id: `${resolved?.id}?${query}`, external: 'absolute' };
  },
});

/**
 * Serves each worker and worklet as one file, as a build does: a test that starts an engine would else have hundreds of
 * modules asked of the server, by every worker anew.
 * @returns {import('vite').Plugin}
 */
export const bundledWorkers = () => ({
  name: 'bundled-workers',
  apply: 'serve',
  enforce: 'pre',
  async load(id) {
    if (!WORKER_FILE.test(id)) return null;
    const [input] = /** @type {[string]} */ (id.split('?'));
    const made = await build({
      configFile: false,
      logLevel: 'error',
      plugins: [askedForLater()],
      build: {
        write: false,
        minify: false,
        target: 'es2022',
        rolldownOptions: { input, output: { format: 'es', codeSplitting: false } },
      },
    });
    const { output } = /** @type {import('vite').Rolldown.RolldownOutput} */ (Array.isArray(made) ? made[0] : made);
    return { code: output[0].code, map: null };
  },
});
