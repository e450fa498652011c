import type { Received } from '../../intake/received.ts';
import type { Asking } from '../questions.ts';
import { doneOf } from '../worker/outcome.ts';
import type { ReceivedFiles } from './received-files.ts';
import type { ReceivedMessage } from './received-message.ts';
import ReceivedWorker from './received.worker.ts?worker';

/** Checks received files in a worker of their own. Rejects as `Engine.receive` does. */
export const receiveInWorker = async (files: ReceivedFiles, { onProgress, signal }: Asking): Promise<Received> => {
  signal?.throwIfAborted();
  const worker = new ReceivedWorker();
  try {
    return await new Promise<Received>((resolve, reject) => {
      worker.onmessage = ({ data }: MessageEvent<ReceivedMessage>) => {
        if ('part' in data) return onProgress?.(data.part);
        // Errors of the worker reject.
        resolve(Promise.resolve().then(() => doneOf(data.outcome)));
      };
      worker.onerror = () =>
        reject(new Error('The files could not be checked: this device has too little memory for it.'));
      signal?.addEventListener('abort', () => reject(signal.reason as Error), { once: true });
      worker.postMessage(files);
    });
  } finally {
    worker.terminate();
  }
};
