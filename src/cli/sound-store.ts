import type { Sound } from '../audio/audio.ts';
import { resampled } from '../audio/resample.ts';
import { refusedSentence, ScratchFile } from '../files/node/node-scratch.ts';
import { keptIn } from '../render/store/kept.ts';
import type { SoundRoom } from '../render/store/room.ts';
import { StretchStore, STRETCH_BYTES, type Disk } from '../render/store/stretch-store.ts';

/** Sound that the command line holds in memory, bytes; what is beyond it goes to the system's folder for temporary files. */
const BUDGET = 192_000_000;

const openDisk = (): Disk => {
  const file = new ScratchFile();
  return {
    write: (place, bytes) => file.write(bytes, place * STRETCH_BYTES),
    read: (place, bytes, at) => file.read(bytes, place * STRETCH_BYTES + at),
  };
};

/** The store of the command line; `tell` is called with a sentence when the disk cannot be written. */
export const soundStore = (tell: (sentence: string) => void): StretchStore =>
  new StretchStore({ budget: BUDGET, openDisk, onRefused: (error) => tell(refusedSentence('sounds', error)) });

/** Sounds of a session by file name, and converted to other rates. */
export class StoredSounds {
  private readonly converted = new Map<string, Sound>();

  constructor(
    private readonly room: SoundRoom,
    private readonly sounds: ReadonlyMap<string, Sound>,
  ) {}

  /** The sound of a file at `sampleRate`; always the same object. */
  at(file: string, sampleRate: number): Sound | null {
    const sound = this.sounds.get(file);
    if (!sound || sound.sampleRate === sampleRate) return sound ?? null;
    const name = `${sampleRate} ${file}`;
    const known = this.converted.get(name) ?? keptIn(this.room, resampled(sound, sampleRate));
    this.converted.set(name, known);
    return known;
  }
}
