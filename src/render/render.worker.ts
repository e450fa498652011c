/// <reference lib="webworker" />
import { exposeStripHost } from './pool/strip-port.ts';

/** One thread of the renderer of the app. */
exposeStripHost(self);
