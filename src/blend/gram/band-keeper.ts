import { framesOf, type Sound } from '../../audio/audio.ts';
import { arrangedBands, bandGramSteps, type BandGram } from './band-gram.ts';
import type { Places } from './pairs.ts';
import {
  frameLayout,
  passingSpectra,
  scratchFrames,
  spectrumFrames,
  type FrameLayout,
  type Spectra,
} from './path-spectra.ts';
import { SpectraShelf } from './spectra-shelf.ts';

/** Above this share of changed paths all products are computed anew, which is then quicker than path by path. */
export const FEW = 1 / 4;

/** For each path the index of its sound in an earlier list, null if it is new. Sounds are compared as objects. */
export const placesAmong = (old: readonly Sound[], sounds: readonly Sound[]): Places =>
  sounds.map((sound) => {
    const place = old.indexOf(sound);
    return place < 0 ? null : place;
  });

/**
 * Computes the products of paths in bands (BandGram), one of the two halves of a blend query, and remembers those of the last ones: of
 * paths that are the same sound nothing is computed again. It does not need the other half, so it can run in a thread of its own; its
 * answers are plain numbers.
 */
export class BandKeeper {
  private sounds: readonly Sound[] = [];
  private bands: BandGram | null = null;

  constructor(private readonly shelf = new SpectraShelf()) {}

  /** Another keeper that remembers the same. */
  copy(): BandKeeper {
    const copy = new BandKeeper(this.shelf);
    copy.sounds = this.sounds;
    copy.bands = this.bands;
    return copy;
  }

  /** Those of `sounds` that `bandSteps` would read. */
  wantedOf(sounds: readonly Sound[]): readonly Sound[] {
    if (this.bands && !placesAmong(this.sounds, sounds).includes(null)) return [];
    return [...new Set(sounds)].filter((sound) => !this.shelf.of(sound));
  }

  /**
   * The products of all pairs of paths (stereo, of one rate and length), step by step: each step looks at one frame of the spectra of all
   * of them, and yields the part done, 0..1. What is not run to its end changes nothing.
   * @throws RangeError when there is no path
   */
  *bandSteps(sounds: readonly Sound[]): Generator<number, BandGram> {
    const [first] = sounds;
    if (!first) throw new RangeError('a blend needs at least one path');
    const places = placesAmong(this.sounds, sounds);
    const before = this.bands && arrangedBands(this.bands, places, this.sounds.length);
    const changed = places.flatMap((place, n) => (place === null ? [n] : []));
    if (!before || changed.length > 0) {
      const isNew = !before || changed.length > FEW * sounds.length;
      const layout = frameLayout(first.sampleRate);
      const { spectra, keep } = this.spectraOf(sounds, layout);
      const known = isNew ? null : before;
      const { sampleRate } = first;
      this.bands = yield* bandGramSteps(spectra, layout, sampleRate, framesOf(first), known && changed, known);
      keep();
    } else this.bands = before;
    this.sounds = sounds;
    return this.bands;
  }

  /** Spectra of sounds, from the shelf or taken as they are asked for; `keep` puts as many as there is room for onto the shelf. */
  private spectraOf(sounds: readonly Sound[], layout: FrameLayout): { spectra: readonly Spectra[]; keep: () => void } {
    const count = spectrumFrames(framesOf(sounds[0]!), layout);
    const room = this.shelf.roomBeside(sounds, count * layout.length * Float32Array.BYTES_PER_ELEMENT);
    const fresh = [...new Set(sounds)].filter((sound) => !this.shelf.of(sound)).slice(0, room);
    const made = new Map(fresh.map((sound) => [sound, [] as Float32Array[]]));
    const passing = passingSpectra(sounds, layout, (path, n) => {
      const frames = made.get(sounds[path]!);
      return frames ? (frames[n] ??= new Float32Array(layout.length)) : scratch(path);
    });
    const scratch = scratchFrames(layout);
    const spectra = sounds.map((sound, p): Spectra => {
      const at = (n: number): Float32Array | undefined => this.shelf.of(sound)?.[n] ?? passing[p]!.at(n);
      return { length: count, at };
    });
    const keep = (): void => {
      for (const [sound, frames] of made) this.shelf.keep(sound, frames);
    };
    return { spectra, keep };
  }
}
