import type { Sound } from '../../audio/audio.ts';

/** Spectra of a sound, frame by frame. */
type KeptSpectra = readonly Float32Array[];

/** Memory for kept spectra, bytes: enough for a short song. Spectra take 2.46 times the memory of the samples. */
const SPECTRA_BYTES = 256_000_000;

/** Least part of the spectra that is worth keeping: a few of many, as of a long song, save little time and fill the memory. */
const WORTH_KEEPING = 1 / 2;

/** Keeps the spectra of sounds within a limit of memory; spectra beyond it are computed each time that they are needed. */
export class SpectraShelf {
  private readonly kept = new Map<Sound, KeptSpectra>();

  /** @param room bytes */
  constructor(private readonly room = SPECTRA_BYTES) {}

  of(sound: Sound): KeptSpectra | undefined {
    return this.kept.get(sound);
  }

  /** How many more spectra of `bytes` each to keep beside those of `sounds`; spectra of other sounds are dropped. */
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
