import { STRETCH_FRAMES, type Fed, type FeedAnswer, type StretchName } from './feed-messages.ts';
import type { PlayedSound } from './played-sound.ts';

/** No more than this is asked for at once, so that what is more urgent is not kept waiting: stretches. */
const MOST_ASKED = 48;

/** What is not there yet is asked for again after this, frames of the audio clock. */
const AGAIN_FRAMES = 4096;

interface Place {
  fed: Fed | 'asked';
  /** The last answer was that it is not there yet. */
  isLater: boolean;
  /** When it was asked for, on the audio clock. */
  since: number;
  /** When it was last wanted. */
  round: number;
}

/** Stretches of sounds as far as they have come. What is no longer wanted is let go. */
export class StretchShelf {
  private sounds = new Map<number, Map<number, Place>>();
  private round = 0;
  private asked = 0;
  private asks: StretchName[] = [];
  private dropped: Float32Array[] = [];
  private clock = 0;

  /** Stretches that have been asked for and have not come. */
  get waitsFor(): number {
    return this.asked;
  }

  /** Bytes of samples that are kept. */
  get bytes(): number {
    let bytes = 0;
    for (const places of this.sounds.values())
      for (const { fed } of places.values())
        if (typeof fed === 'object') bytes += 4 * STRETCH_FRAMES * (fed.left === fed.right ? 1 : 2);
    return bytes;
  }

  /** Begins to say what is wanted: what is not wanted until `ask` is let go. */
  begin(clock: number): void {
    this.clock = clock;
    this.round++;
    this.asks = [];
  }

  /** Stretch `index` of a sound is wanted; the most urgent first. */
  want({ id, frames }: PlayedSound, index: number): void {
    if (index < 0 || index * STRETCH_FRAMES >= frames) return;
    const places = this.sounds.get(id) ?? new Map<number, Place>();
    this.sounds.set(id, places);
    const { clock, round } = this;
    const place = places.get(index);
    if (place) place.round = round;
    if (place && (place.fed !== 'later' || clock < place.since + AGAIN_FRAMES)) return;
    if (this.asked >= MOST_ASKED) return;
    this.asked++;
    this.asks.push({ sound: id, index });
    places.set(index, { fed: 'asked', isLater: place?.isLater ?? false, since: clock, round });
  }

  /** Lets go of what was not wanted, and says what is to be asked for. */
  ask(): readonly StretchName[] {
    for (const [id, places] of this.sounds) {
      for (const [index, { fed, round }] of places) {
        if (round === this.round) continue;
        places.delete(index);
        this.drop(fed);
      }
      if (places.size === 0) this.sounds.delete(id);
    }
    return this.asks;
  }

  private drop(fed: Place['fed']): void {
    if (typeof fed === 'string') return;
    this.dropped.push(fed.left);
    if (fed.right !== fed.left) this.dropped.push(fed.right);
  }

  /** Samples that are not used any more: they can be filled again, so that the audio thread leaves no garbage. */
  takeDropped(): readonly Float32Array[] {
    const { dropped } = this;
    this.dropped = [];
    return dropped;
  }

  /** What was asked for has come; what is not wanted any more is not kept. */
  take(answer: FeedAnswer): void {
    for (const { sound, index, fed } of answer) {
      this.asked = Math.max(0, this.asked - 1);
      const place = this.sounds.get(sound)?.get(index);
      if (place) Object.assign(place, { fed, isLater: fed === 'later' });
      else this.drop(fed);
    }
  }

  /** Forgets everything: another feed numbers its sounds otherwise. */
  clear(): void {
    this.sounds = new Map();
    this.asked = 0;
  }

  /** True where frames from..to-1 of a sound can be read. */
  has({ id, frames }: PlayedSound, from: number, to: number): boolean {
    const last = Math.floor((Math.min(to, frames) - 1) / STRETCH_FRAMES);
    for (let index = Math.floor(Math.max(0, from) / STRETCH_FRAMES); index <= last; index++)
      if (!isThere(this.sounds.get(id)?.get(index)?.fed)) return false;
    return true;
  }

  /** True where some of frames from..to-1 of a sound is known not to be there yet. */
  lacks({ id, frames }: PlayedSound, from: number, to: number): boolean {
    const last = Math.floor((Math.min(to, frames) - 1) / STRETCH_FRAMES);
    for (let index = Math.floor(Math.max(0, from) / STRETCH_FRAMES); index <= last; index++)
      if (this.sounds.get(id)?.get(index)?.isLater) return true;
    return false;
  }

  /**
   * Reads `count` frames from frame `from` on into both channels at `at`: silence outside the sound. Returns whether all were there;
   * what was not is silent.
   */
  read(
    { id, frames }: PlayedSound,
    from: number,
    count: number,
    left: Float32Array,
    right: Float32Array,
    at: number,
  ): boolean {
    let complete = true;
    const places = this.sounds.get(id);
    for (let done = 0; done < count;) {
      const frame = from + done;
      const index = Math.floor(frame / STRETCH_FRAMES);
      const offset = frame - index * STRETCH_FRAMES;
      const run = Math.min(count - done, STRETCH_FRAMES - offset);
      const fed = places?.get(index)?.fed;
      if (typeof fed === 'object') {
        for (let i = 0; i < run; i++) {
          left[at + done + i] = fed.left[offset + i]!;
          right[at + done + i] = fed.right[offset + i]!;
        }
      } else {
        left.fill(0, at + done, at + done + run);
        right.fill(0, at + done, at + done + run);
        if (fed !== 'silent' && frame + run > 0 && frame < frames) complete = false;
      }
      done += run;
    }
    return complete;
  }
}

const isThere = (fed: Fed | 'asked' | undefined): boolean => typeof fed === 'object' || fed === 'silent';
