import { framesOf, type Audio } from '../../audio/audio.ts';
import { bandGramSteps, type BandGram } from './band-gram.ts';
import { frameLayout, spectraOf } from './path-spectra.ts';

/** More changed paths than this part of all are not worth a row each. */
export const FEW = 1 / 4;

/**
 * Keeps the spectra of paths, and makes the half of a query that comes of them: the products of all pairs in bands. It
 * needs nothing of the other half, so it can live in a thread of its own; its answers are plain numbers.
 */
export class BandKeeper {
  private sounds: { readonly sampleRate: number; readonly frames: number } | null = null;
  private readonly spectra: (readonly Float32Array[])[] = [];
  /** Paths whose spectra no other keeper shares. */
  private readonly own = new Set<number>();
  private bands: BandGram | null = null;
  /** Paths whose products are not made yet. */
  private readonly changed = new Set<number>();

  /** Another keeper of the same; spectra do not change and are shared. */
  copy(): BandKeeper {
    const copy = new BandKeeper();
    copy.sounds = this.sounds;
    copy.spectra.push(...this.spectra);
    this.own.clear();
    copy.bands = this.bands;
    for (const index of this.changed) copy.changed.add(index);
    return copy;
  }

  /** Takes the (new) sound of path `index`: stereo, all of one rate and length. The sound itself is not kept. */
  take(index: number, audio: Audio): void {
    const { sampleRate } = audio;
    this.sounds = { sampleRate, frames: framesOf(audio) };
    this.spectra[index] = spectraOf(audio, frameLayout(sampleRate), this.own.has(index) ? this.spectra[index] : []);
    this.own.add(index);
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
