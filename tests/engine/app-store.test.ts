import { expect, it } from 'vitest';
import { STRETCH } from '../../src/audio/samples.ts';
import { appStore, NO_STORAGE, STORAGE_FULL } from '../../src/engine/worker/app-store.ts';
import { STRETCH_BYTES, type Disk } from '../../src/render/store/stretch-store.ts';

const FULL: Disk = {
  write: () => {
    throw new Error('full');
  },
  read: () => {
    throw new Error('nothing was written');
  },
};

it.each([
  [null, NO_STORAGE],
  [FULL, STORAGE_FULL],
])(
  'sound stays in memory, and one sentence says so, where the browser keeps none or no more of it',
  (disk, sentence) => {
    const told: string[] = [];
    const store = appStore(disk, (each) => told.push(each), 2 * STRETCH_BYTES);
    const sound = store.take(5 * STRETCH);
    for (let n = 0; n < 5; n++)
      sound.put(n * STRETCH, new Float32Array(STRETCH).fill(n + 1), new Float32Array(STRETCH));
    for (let n = 0; n < 5; n++) expect(sound.left.subarray(n * STRETCH + 7, n * STRETCH + 8)[0]).toBe(n + 1);
    expect(told).toEqual([sentence]);
  },
);
