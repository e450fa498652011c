import { describe, expect, it } from 'vitest';
import { STRETCH } from '../../src/audio/samples.ts';
import { STRETCH_BYTES, StretchStore, type Disk, type StoreHost } from '../../src/render/store/stretch-store.ts';
import { Scratch } from '../../src/render/store/scratch.ts';
import { memoryRoom } from '../../src/render/store/room.ts';
import { expectSameSamples } from '../helpers/same-samples.ts';
import { whiteNoise } from '../helpers/signals.ts';

/** A disk in memory. */
class TestDisk implements Disk {
  readonly places = new Map<number, Uint8Array>();
  write(place: number, bytes: Uint8Array): void {
    this.places.set(place, bytes.slice());
  }
  read(place: number, bytes: Uint8Array, at: number): void {
    bytes.set(this.places.get(place)!.subarray(at, at + bytes.length));
  }
}

const storeOn = (disk: Disk, host: Partial<StoreHost> = {}): StretchStore =>
  new StretchStore({ budget: 2 * STRETCH_BYTES, openDisk: () => disk, onRefused: () => {}, ...host });

const FRAMES = 5 * STRETCH + 777;
const noise = whiteNoise((FRAMES + 1) / 48_000, 5).slice(0, FRAMES);
const other = noise.map((x, n) => (n < STRETCH || n >= 3 * STRETCH ? -x / 2 : 0));

const fill = (store: Pick<StretchStore, 'take'>, step: number) => {
  const sound = store.take(FRAMES);
  for (let from = 0; from < FRAMES; from += step)
    sound.put(from, noise.subarray(from, from + step), other.subarray(from, from + step));
  return sound;
};

describe('a store of stretches', () => {
  it('gives back what was put, whatever the pieces, from memory and from disk', () => {
    for (const step of [2048, STRETCH, 10_007]) {
      const disk = new TestDisk();
      const store = storeOn(disk);
      const sounds = [fill(store, step), fill(store, step)];
      expect(store.bytes.memory).toBe(2 * STRETCH_BYTES);
      expect(disk.places.size).toBeGreaterThanOrEqual(10);
      for (const sound of sounds)
        for (const [from, to] of [
          [0, FRAMES],
          [STRETCH - 5, STRETCH + 5],
          [FRAMES - 1, FRAMES],
          [4 * STRETCH, 5 * STRETCH],
          [3, 3],
          [2 * STRETCH + 100, 2 * STRETCH + 700],
          [3 * STRETCH + 100, 4 * STRETCH - 100],
        ] as const) {
          expectSameSamples(sound.left.subarray(from, to), noise.subarray(from, to));
          expectSameSamples(sound.right.subarray(from, to), other.subarray(from, to));
        }
    }
  });

  it('gives back at once what was taken for a while, in memory and on disk, and leaves the rest as it is', () => {
    const disk = new TestDisk();
    const store = storeOn(disk);
    const stays = fill(store, STRETCH);
    const before = store.bytes;
    const scratch = new Scratch(store);
    const goes = fill(scratch, STRETCH);
    expect(store.bytes.disk).toBeGreaterThan(before.disk);
    scratch.letGo();
    expect(store.bytes.memory + store.bytes.disk).toBeLessThanOrEqual(before.memory + before.disk);
    expectSameSamples(goes.left.subarray(0, FRAMES), new Float32Array(FRAMES));
    expectSameSamples(stays.left.subarray(0, FRAMES), noise);
    // Its places are used again.
    const { size } = disk.places;
    fill(store, STRETCH);
    expect(disk.places.size).toBe(size);
  });

  it('takes no room for silence', () => {
    const store = storeOn(new TestDisk());
    const sound = store.take(100 * STRETCH);
    sound.put(0, new Float32Array(3 * STRETCH), new Float32Array(3 * STRETCH));
    expect(store.bytes).toEqual({ memory: 0, disk: 0 });
    expect(sound.left.length).toBe(100 * STRETCH);
    expectSameSamples(sound.left.subarray(5, 50_000), new Float32Array(49_995));
  });

  it('stays in memory and says so once where the disk is refused, or full', () => {
    const refused: unknown[] = [];
    const onRefused = (error: unknown): void => void refused.push(error);
    const none = storeOn(new TestDisk(), {
      onRefused,
      openDisk: () => {
        throw new Error('none');
      },
    });
    const full = new TestDisk();
    const write = full.write.bind(full);
    full.write = (place, bytes) => {
      if (place > 1) throw new Error('full');
      write(place, bytes);
    };
    for (const store of [none, storeOn(full, { onRefused })]) {
      const sound = fill(store, STRETCH);
      expectSameSamples(sound.left.subarray(0, FRAMES), noise);
      expectSameSamples(sound.right.subarray(0, FRAMES), other);
    }
    expect(refused.map((error) => (error as Error).message)).toEqual(['none', 'full']);
  });

  it('is like a room in memory to whoever fills it', () => {
    const [stored, whole] = [fill(storeOn(new TestDisk()), 3000), fill(memoryRoom, 3000)];
    expectSameSamples(stored.right.subarray(0, FRAMES), whole.right.subarray(0, FRAMES));
  });
});
