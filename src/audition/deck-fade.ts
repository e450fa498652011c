import { smoothStep } from '../dsp/core/smooth-step.ts';
import type { Deck } from './deck.ts';

/** The deck that plays, and the one that fades out while it fades in. */
export class DeckFade {
  /** null: nothing plays, or is to play once the fade is over. */
  deck: Deck | null = null;
  /** The deck that fades out. */
  leaving: Deck | null = null;
  /** Both of them. */
  playing: readonly Deck[] = [];
  /** When the last fade began, for paths; the other sides fade this much later, at the same place in the song. */
  private since = 0;
  private late = 0;
  private readonly weights: Float64Array;

  /** @param frames of a fade @param block most frames at once */
  constructor(
    readonly frames: number,
    block: number,
  ) {
    this.weights = new Float64Array(block);
  }

  /** Begins a fade to a deck, or (null) to silence. */
  to(deck: Deck | null, clock: number): void {
    this.since = clock;
    this.late = (deck ?? this.deck)?.start.late ?? 0;
    this.leaving = this.deck;
    this.deck = deck;
    this.playing = [this.leaving, deck].filter((each) => each !== null);
  }

  /** Ends the fade where it is over; true: it was that. */
  end(clock: number): boolean {
    if (!this.leaving || clock < this.since + this.late + this.frames) return false;
    this.leaving = null;
    this.playing = this.deck ? [this.deck] : [];
    return true;
  }

  /** True where paths are heard in full. */
  isSteady(clock: number): boolean {
    return this.leaving === null && clock >= this.since + this.frames;
  }

  /** How far a deck has faded in or out at each frame; null: it is heard in full. The next call writes to the same array. */
  weightsOf(deck: Deck, clock: number, isSide: boolean, count: number): Float64Array | null {
    const since = clock - this.since - (isSide ? this.late : 0);
    const isLeaving = deck === this.leaving;
    if (!isLeaving && since >= this.frames) return null;
    const { weights, frames } = this;
    for (let i = 0; i < count; i++) {
      const share = smoothStep(Math.min(1, Math.max(0, (since + i + 0.5) / frames)));
      weights[i] = isLeaving ? 1 - share : share;
    }
    return weights;
  }
}
