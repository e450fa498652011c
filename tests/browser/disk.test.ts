import { expect, test } from 'vitest';
import DiskWorker from './disk.worker.ts?worker';

const namesInFolder = async (): Promise<Set<string>> => {
  const folder = await (await navigator.storage.getDirectory()).getDirectoryHandle('sound', { create: true });
  const names = new Set<string>();
  for await (const name of folder.keys()) names.add(name);
  return names;
};

/** A worker that keeps sound on the browser's disk, and the name of its file. */
const started = async (): Promise<{ readonly worker: Worker; readonly name: string }> => {
  const before = await namesInFolder();
  const worker = new DiskWorker();
  const told = await new Promise((resolve) => (worker.onmessage = ({ data }) => resolve(data)));
  expect(told).toBe('kept');
  const [name, ...others] = [...(await namesInFolder())].filter((each) => !before.has(each));
  expect(others).toEqual([]);
  return { worker, name: name! };
};

test('sound that memory does not hold comes back from the browser’s disk; files of engines that are gone are removed, of others not', async () => {
  const first = await started();
  const second = await started();
  expect(await namesInFolder()).toContain(first.name);
  first.worker.terminate();
  // The browser lets go of what a thread held soon after it ends.
  const held = async (): Promise<number> =>
    (await navigator.locks.query()).held!.filter(({ name }) => name!.includes(first.name)).length;
  await expect.poll(held).toBe(0);
  const third = await started();
  const left = await namesInFolder();
  expect(left).not.toContain(first.name);
  expect(left).toContain(second.name);
  for (const { worker } of [second, third]) worker.terminate();
});
