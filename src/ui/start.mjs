// `npm start`: installs and builds what is missing, then serves the app on this machine.
import { ensureDependencies, requireNode } from '../cli/ensure-dependencies.mjs';
import { runEntry, SetupError } from '../cli/setup-error.mjs';
import { configFile, ensureApp } from './build-app.mjs';

const usage = 'npm start [-- --port NUMBER] [--host ADDRESS]';

/** @param {string} text */
function portOf(text) {
  const port = Number(text);
  if (text.trim() !== '' && Number.isInteger(port) && port >= 0 && port <= 65535) return port;
  throw new SetupError(`--port (or PORT): expected a whole number from 0 to 65535, found "${text}".`);
}

/** Where to serve: a port that was asked for must be free, otherwise the first free one from 4173 on is taken. */
async function wishes() {
  const { parseArgs } = await import('node:util');
  try {
    const { values } = parseArgs({ options: { port: { type: 'string' }, host: { type: 'string' } } });
    const asked = values.port ?? process.env['PORT'];
    return {
      host: values.host ?? '127.0.0.1',
      port: asked === undefined ? 4173 : portOf(asked),
      strictPort: asked !== undefined,
    };
  } catch (error) {
    if (error instanceof SetupError) throw error;
    throw new SetupError(`${/** @type {Error} */ (error).message}. Usage: ${usage}`);
  }
}

/** @param {Awaited<ReturnType<typeof wishes>>} where */
async function serve(where) {
  const { preview } = await import('vite');
  try {
    const server = await preview({ configFile, logLevel: 'error', preview: { ...where, open: false } });
    return [...(server.resolvedUrls?.local ?? []), ...(server.resolvedUrls?.network ?? [])];
  } catch (error) {
    throw new SetupError(
      `Tributary cannot be served at ${where.host}, port ${where.port}: ${/** @type {Error} */ (error).message}. ` +
        `Another one can be asked for: ${usage}`,
    );
  }
}

await runEntry(async () => {
  requireNode();
  const where = await wishes();
  await ensureDependencies(console.log);
  await ensureApp(console.log);
  for (const url of await serve(where)) console.log(`Tributary is at ${url}`);
  console.log('Stop it with Ctrl+C.');
}, 1);
