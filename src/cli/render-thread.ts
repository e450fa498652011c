import { parentPort } from 'node:worker_threads';
import nodeEndpoint from 'comlink/dist/esm/node-adapter.mjs';
import { exposeStripHost } from '../render/pool/strip-port.ts';

/** One thread of the renderer of the command line. */
if (parentPort) exposeStripHost(nodeEndpoint(parentPort));
