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

/** Where the command line keeps sound; `tell` hears a sentence where the disk refuses. */
export const soundStore = (tell: (sentence: string) => void): StretchStore =>
  new StretchStore({ budget: BUDGET, openDisk, onRefused: (error) => tell(refusedSentence('sounds', error)) });

/** Sounds of a session by the file that it calls them, each as converted to a rate too. */
export class StoredSounds {
  private readonly converted = new Map<string, Sound>();

  constructor(
    private readonly room: SoundRoom,
    private readonly sounds: ReadonlyMap<string, Sound>,
  ) {}

  /** The sound of a file at `sampleRate`; the same object each time. */
  at(file: string, sampleRate: number): Sound | null {
    const sound = this.sounds.get(file);
    if (!sound || sound.sampleRate === sampleRate) return sound ?? null;
    const name = `${sampleRate} ${file}`;
    const known = this.converted.get(name) ?? keptIn(this.room, resampled(sound, sampleRate));
    this.converted.set(name, known);
    return known;
  }
}
