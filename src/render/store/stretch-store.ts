import { isSilent } from '../../audio/silence.ts';
import { STRETCH, type Samples } from '../../audio/samples.ts';
import type { SoundRoom, Taking } from './room.ts';

/** Places on a disk, all of one size, by number. Reading and writing are synchronous, and throw where the disk refuses. */
export interface Disk {
  write(place: number, bytes: Uint8Array): void;
  /** Reads from byte `at` of a place on. */
  read(place: number, bytes: Uint8Array, at: number): void;
}

/** What a store needs of where it runs. */
export interface StoreHost {
  /** Bytes of samples that stay in memory. */
  readonly budget: number;
  /** Called when the first stretch goes to disk; throws where there is none. */
  readonly openDisk: () => Disk;
  /** The disk refused or is full: what is there is read from it, all else stays in memory from now on. */
  readonly onRefused: (error: unknown) => void;
}

/** Bytes of a stretch: both sides of it. */
export const STRETCH_BYTES = 2 * STRETCH * Float32Array.BYTES_PER_ELEMENT;

/** A stretch that is not silent: left, then right. */
interface Stretch {
  /** null: it is on disk alone. */
  samples: Float32Array | null;
  /** Where on the disk it has a place. */
  place: number | null;
  /** True while it is on disk as it is in memory. */
  isWritten: boolean;
}

/** So many samples are few. */
const FEW = STRETCH / 8;

const SILENCE = new Float32Array(STRETCH);

/**
 * Keeps sounds stretch by stretch: in memory up to a budget, what was used longest ago beyond it on disk. Silent stretches take nothing. A
 * sound that nobody holds any more gives its room back when the garbage collector finds it.
 */
export class StretchStore implements SoundRoom {
  /** Stretches in memory, that which was used longest ago first. */
  private readonly inMemory = new Set<Stretch>();
  private disk: Disk | null = null;
  private isRefused = false;
  private readonly free: number[] = [];
  private places = 0;
  private readonly gone = new FinalizationRegistry<ReadonlyMap<number, Stretch>>((stretches) => {
    for (const stretch of stretches.values()) this.letGo(stretch);
  });

  constructor(private readonly host: StoreHost) {}

  take(frames: number): Taking {
    const stretches = new Map<number, Stretch>();
    const sound = new StoredSound(this, stretches, frames);
    this.gone.register(sound, stretches);
    return sound;
  }

  /** Bytes of samples in memory, and on disk. */
  get bytes(): { readonly memory: number; readonly disk: number } {
    return { memory: this.inMemory.size * STRETCH_BYTES, disk: (this.places - this.free.length) * STRETCH_BYTES };
  }

  /** A new stretch, silent. */
  fresh(): Stretch {
    const stretch: Stretch = { samples: new Float32Array(2 * STRETCH), place: null, isWritten: false };
    this.use(stretch);
    return stretch;
  }

  /** The samples of a stretch, from the disk if they are there alone. */
  samplesOf(stretch: Stretch): Float32Array {
    if (!stretch.samples) {
      const samples = new Float32Array(2 * STRETCH);
      this.disk!.read(stretch.place!, new Uint8Array(samples.buffer), 0);
      stretch.samples = samples;
    }
    this.use(stretch);
    return stretch.samples;
  }

  /**
   * Samples at..at + count - 1 of one side of a stretch. Of one that is on disk, what is asked for at its beginning is read on from there,
   * so all of it is brought into memory; a few samples out of its middle are read alone.
   */
  part(stretch: Stretch, side: 0 | 1, at: number, count: number): Float32Array {
    const first = side * STRETCH + at;
    if (stretch.samples || at === 0 || count > FEW) return this.samplesOf(stretch).subarray(first, first + count);
    const samples = new Float32Array(count);
    this.disk!.read(stretch.place!, new Uint8Array(samples.buffer), first * Float32Array.BYTES_PER_ELEMENT);
    return samples;
  }

  private use(stretch: Stretch): void {
    this.inMemory.delete(stretch);
    this.inMemory.add(stretch);
    this.makeRoom(stretch);
  }

  /** Has what is beyond the budget in memory no longer, but for the `newest`. */
  private makeRoom(newest: Stretch): void {
    for (const stretch of this.inMemory) {
      if (this.bytes.memory <= this.host.budget || stretch === newest) return;
      if (!stretch.isWritten && !this.write(stretch)) return;
      stretch.samples = null;
      this.inMemory.delete(stretch);
    }
  }

  private write(stretch: Stretch): boolean {
    if (this.isRefused) return false;
    try {
      this.disk ??= this.host.openDisk();
      stretch.place ??= this.free.pop() ?? this.places++;
      this.disk.write(stretch.place, new Uint8Array(stretch.samples!.buffer));
      stretch.isWritten = true;
      return true;
    } catch (error) {
      this.isRefused = true;
      this.host.onRefused(error);
      return false;
    }
  }

  /** Gives the room of a stretch back. */
  letGo(stretch: Stretch): void {
    this.inMemory.delete(stretch);
    if (stretch.place !== null) this.free.push(stretch.place);
  }
}

/** One sound of a store. */
class StoredSound implements Taking {
  readonly left: Samples;
  readonly right: Samples;

  constructor(
    private readonly store: StretchStore,
    private readonly stretches: Map<number, Stretch>,
    frames: number,
  ) {
    this.left = new StoredSide(this, 0, frames);
    this.right = new StoredSide(this, 1, frames);
  }

  put(from: number, left: Float32Array, right: Float32Array): void {
    for (let done = 0; done < left.length;) {
      const number = Math.floor((from + done) / STRETCH);
      const at = from + done - number * STRETCH;
      const end = Math.min(left.length, done + STRETCH - at);
      this.write(number, at, left.subarray(done, end), right.subarray(done, end));
      done = end;
    }
  }

  letGo(): void {
    for (const stretch of this.stretches.values()) this.store.letGo(stretch);
    this.stretches.clear();
  }

  private write(number: number, at: number, left: Float32Array, right: Float32Array): void {
    const known = this.stretches.get(number);
    if (!known && isSilent(left) && isSilent(right)) return;
    const stretch = known ?? this.store.fresh();
    this.stretches.set(number, stretch);
    const samples = this.store.samplesOf(stretch);
    samples.set(left, at);
    samples.set(right, STRETCH + at);
    stretch.isWritten = false;
  }

  /** Frames at..at + count - 1 of a stretch of one side. */
  part(number: number, side: 0 | 1, at: number, count: number): Float32Array {
    const stretch = this.stretches.get(number);
    if (!stretch) return SILENCE.subarray(0, count);
    return this.store.part(stretch, side, at, count);
  }
}

/** One side of a stored sound; it keeps the sound from being let go. */
class StoredSide implements Samples {
  constructor(
    private readonly sound: StoredSound,
    private readonly side: 0 | 1,
    readonly length: number,
  ) {}

  subarray(from: number, to: number): Float32Array {
    const number = Math.floor(from / STRETCH);
    const at = from - number * STRETCH;
    if (at + to - from <= STRETCH) return this.sound.part(number, this.side, at, to - from);
    const out = new Float32Array(to - from);
    for (let frame = from; frame < to;) {
      const place = Math.floor(frame / STRETCH);
      const start = frame - place * STRETCH;
      const count = Math.min(to - frame, STRETCH - start);
      out.set(this.sound.part(place, this.side, start, count), frame - from);
      frame += count;
    }
    return out;
  }
}
