import type { Sound } from '../../audio/audio.ts';

/** Spectra of a sound, frame by frame. */
export type KeptSpectra = readonly Float32Array[];

/** Spectra kept by all who share a shelf, bytes: those of a short song. They take 2.46 times the samples that they are of. */
const SPECTRA_BYTES = 256_000_000;

/** A few of many, as of a long song, spare next to nothing and fill the room. */
const WORTH_KEEPING = 1 / 2;

/** Keeps the spectra of sounds, as many as there is room for: those of others are taken anew each time that they are needed. */
export class SpectraShelf {
  private readonly kept = new Map<Sound, KeptSpectra>();

  /** @param room bytes */
  constructor(private readonly room = SPECTRA_BYTES) {}

  of(sound: Sound): KeptSpectra | undefined {
    return this.kept.get(sound);
  }

  /** How many more spectra of `bytes` each are to be kept beside those of `sounds`; others give way. */
  roomBeside(sounds: readonly Sound[], bytes: number): number {
    const wanted = new Set(sounds);
    for (const sound of this.kept.keys()) if (!wanted.has(sound)) this.kept.delete(sound);
    const more = Math.max(0, Math.floor((this.room - this.bytes) / bytes));
    return this.kept.size + more < WORTH_KEEPING * wanted.size ? 0 : more;
  }

  keep(sound: Sound, spectra: KeptSpectra): void {
    this.kept.set(sound, spectra);
  }

  private get bytes(): number {
    let bytes = 0;
    for (const spectra of this.kept.values()) bytes += spectra.length * (spectra[0]?.byteLength ?? 0);
    return bytes;
  }
}
