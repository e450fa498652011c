import { expect, test } from 'vitest';
import BlobWorker from './blob-bytes.worker.ts?worker';

test('bytes of a file are those that it holds, read in order or not; what it no longer holds is refused by its name', async () => {
  const worker = new BlobWorker();
  expect(await new Promise((resolve) => (worker.onmessage = ({ data }) => resolve(data)))).toEqual([]);
  worker.terminate();
});
