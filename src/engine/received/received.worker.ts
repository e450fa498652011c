/// <reference lib="webworker" />
import { BlobBytes } from '../../files/bytes/blob-bytes.ts';
import type { Incoming } from '../../intake/opened-file.ts';
import { receive } from '../../intake/receive.ts';
import type { Received } from '../../intake/received.ts';
import { plainSentence } from '../message.ts';
import { outcomeOf } from '../worker/outcome.ts';
import type { ReceivedFiles } from './received-files.ts';
import type { ReceivedMessage } from './received-message.ts';

/** Checks received files in a thread that then ends: one file at a time is in memory, and playback does not wait for it. */

const scope = self as unknown as DedicatedWorkerGlobalScope;
const tell = (message: ReceivedMessage): void => scope.postMessage(message);

const incoming = ([file, blob]: readonly [string, Blob]): Incoming => ({
  file,
  open: () => Promise.resolve(new BlobBytes(blob, file)),
});

const received = async ({ tracks, rough }: ReceivedFiles): Promise<Received> => {
  const steps = receive(tracks.map(incoming), rough && incoming(rough));
  for (;;) {
    const next = await steps.next();
    if (next.done) return next.value;
    tell({ part: next.value.done });
  }
};

const NOT_CHECKED = 'The files could not be checked: there is a fault in the app.';

scope.onmessage = async ({ data }: MessageEvent<ReceivedFiles>) => {
  tell({
    outcome: await outcomeOf(
      () => received(data),
      (error) => plainSentence(error, NOT_CHECKED),
    ),
  });
};
