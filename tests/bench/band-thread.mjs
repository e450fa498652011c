// Keeps the bands of paths in a thread of its own, as the app does: takes sounds, and answers with the bands.
import { parentPort, workerData } from 'node:worker_threads';

/** @typedef {typeof import('./blend-work.ts')} Work */

/** @type {Work} */
const work = await import(workerData);
const keeper = new work.BandKeeper();
/** @type {import('../../src/audio/audio.ts').Audio[]} */
const sounds = [];

parentPort?.on(
  'message',
  (/** @type {{ index: number, audio: import('../../src/audio/audio.ts').Audio } | null} */ told) => {
    if (told) sounds[told.index] = told.audio;
    parentPort?.postMessage(told ? null : work.finished(keeper.bandSteps([...sounds])));
  },
);
