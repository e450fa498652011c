import { openBrowserDisk } from '../../src/engine/worker/opfs-disk.ts';
import { StretchStore, STRETCH_BYTES } from '../../src/render/store/stretch-store.ts';
import { whiteNoise } from '../helpers/signals.ts';

// Opens a disk, keeps more in a store on it than that holds in memory, tells whether all came back, and stays as it is until it is ended.
const SECONDS = 8;
const told = async (): Promise<string> => {
  const disk = await openBrowserDisk();
  const refused: unknown[] = [];
  const onRefused = (error: unknown): void => void refused.push(error);
  const store = new StretchStore({ budget: 2 * STRETCH_BYTES, openDisk: () => disk, onRefused });
  const [left, right] = [whiteNoise(SECONDS, 1), whiteNoise(SECONDS, 2)];
  const sounds = [0, 1].map(() => store.take(left.length));
  for (const sound of sounds) sound.put(0, left, right);
  const isSame = (one: Float32Array, other: Float32Array): boolean => one.every((x, n) => x === other[n]);
  for (const sound of sounds) {
    if (!isSame(sound.left.subarray(0, left.length), left)) return 'left is not what was kept';
    if (!isSame(sound.right.subarray(40_000, 90_000), right.subarray(40_000, 90_000))) return 'right is not either';
  }
  if (refused.length > 0) return `the disk was refused: ${String(refused[0])}`;
  return store.bytes.disk > 15 * STRETCH_BYTES ? 'kept' : `only ${store.bytes.disk} bytes went to disk`;
};

void told().then(postMessage, (error: unknown) => postMessage(String(error)));
