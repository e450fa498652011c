import type { Range } from '../../engine/engine.ts';
import { fittedRange, following, scrolled, wholeSong, zoomed } from '../song-strip/strip-range.ts';

/** Which part of the song the strip shows. */
export class StripView {
  /** null: all of it. */
  #range = $state.raw<Range | null>(null);

  // What depends on the range is drawn anew only where that has changed, and not with every edit of the session.
  readonly #seconds = $derived.by(() => this.seconds());
  readonly #whole = $derived(wholeSong(this.#seconds));
  readonly #part = $derived(fittedRange(this.#range, this.#seconds));

  /** @param seconds length of the song @param sampleRate its rate, Hz */
  constructor(
    private readonly seconds: () => number,
    private readonly sampleRate: () => number,
  ) {}

  get range(): Range {
    return this.#part ?? this.#whole;
  }

  get isWhole(): boolean {
    return this.#part === null;
  }

  show(range: Range | null): void {
    this.#range = range && fittedRange(range, this.#seconds);
  }

  /** Shows `factor` times less of the song around a moment, seconds. */
  zoom(factor: number, anchor: number): void {
    if (this.#seconds > 0) this.show(zoomed(this.range, factor, anchor, this.#seconds, this.sampleRate()));
  }

  /** Moves along by a part of what is shown. */
  scroll(part: number): void {
    const { startSeconds, endSeconds } = this.range;
    this.show(scrolled(this.range, part * (endSeconds - startSeconds), this.#seconds));
  }

  /** The playhead went on: where it has left what is shown, that goes along. One that was not seen before is not looked for. */
  follow(before: number, now: number): void {
    const { range } = this;
    const isSeen = before >= range.startSeconds && before <= range.endSeconds;
    if (isSeen && !this.isWhole) this.show(following(range, now, this.#seconds));
  }
}
