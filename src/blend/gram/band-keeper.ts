import { framesOf, type Sound } from '../../audio/audio.ts';
import { arrangedBands, bandGramSteps, type BandGram } from './band-gram.ts';
import { isInPlace, type Places } from './pairs.ts';
import { frameLayout, spectraOf } from './path-spectra.ts';

/** Above this share of changed paths all products are computed anew, which is then quicker than path by path. */
export const FEW = 1 / 4;

/**
 * Keeps the spectra of the paths and computes their products in bands (BandGram), one of the two halves of a blend
 * query. It does not need the other half, so it can run in a thread of its own; its answers are plain numbers.
 */
export class BandKeeper {
  private sounds: { readonly sampleRate: number; readonly frames: number } | null = null;
  private spectra: (readonly Float32Array[])[] = [];
  /** Spectra that no other keeper shares. */
  private readonly own = new Set<readonly Float32Array[]>();
  /** Arrays of sounds that have left: spectra of new sounds are written into them. */
  private spare: (readonly Float32Array[])[] = [];
  private bands: BandGram | null = null;
  /** Paths whose products are not made yet. */
  private changed = new Set<number>();

  /** Another keeper of the same; spectra do not change and are shared. */
  copy(): BandKeeper {
    const copy = new BandKeeper();
    copy.sounds = this.sounds;
    copy.spectra = [...this.spectra];
    this.own.clear();
    copy.bands = this.bands;
    copy.changed = new Set(this.changed);
    return copy;
  }

  /** Puts the paths into other places; the sounds of those that stood nowhere (null) are still to be taken. */
  arrange(places: Places): void {
    const { spectra, changed } = this;
    if (isInPlace(places, spectra.length)) return;
    this.spectra = places.map((place) => (place === null ? [] : spectra[place]!));
    // Two paths may be one sound: what one of them still has is not written over.
    const stay = new Set(this.spectra);
    this.spare.push(...new Set(spectra.filter((each) => this.own.has(each) && !stay.has(each))));
    this.changed = new Set(places.flatMap((place, n) => (place === null || changed.has(place) ? [n] : [])));
    this.bands = this.bands && arrangedBands(this.bands, places, spectra.length);
  }

  /** Takes the sound of path `index`: stereo, all of one rate and length. The sound itself is not kept. */
  take(index: number, audio: Sound): void {
    const { sampleRate } = audio;
    if (this.sounds?.sampleRate !== sampleRate) this.spare = [];
    this.sounds = { sampleRate, frames: framesOf(audio) };
    const old = this.spare.pop() ?? [];
    this.own.delete(old);
    this.spectra[index] = spectraOf(audio, frameLayout(sampleRate), old);
    this.own.add(this.spectra[index]);
    this.changed.add(index);
  }

  /** The products of all pairs of the paths as they are now, step by step; each step yields the part done, 0..1. */
  *bandSteps(): Generator<number, BandGram> {
    const { changed, spectra } = this;
    if (!this.bands || changed.size > FEW * spectra.length) this.bands = yield* this.steps(null);
    else {
      for (const index of [...changed]) {
        this.bands = yield* this.steps(index);
        changed.delete(index);
      }
    }
    changed.clear();
    this.spare = [];
    return this.bands;
  }

  private steps(index: number | null): Generator<number, BandGram> {
    if (!this.sounds) throw new RangeError('a blend needs at least one path');
    const { sampleRate, frames } = this.sounds;
    return bandGramSteps(
      this.spectra,
      frameLayout(sampleRate),
      sampleRate,
      frames,
      index,
      index === null ? null : this.bands,
    );
  }
}
