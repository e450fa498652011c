import type { Range } from '../../engine/engine.ts';
import { fittedRange, following, scrolled, wholeSong, zoomed } from '../song-strip/strip-range.ts';

/** Which part of the song the strip shows. */
export class StripView {
  /** null: all of it. */
  #range = $state.raw<Range | null>(null);

  /** @param song length of the song, seconds, and its rate, Hz */
  constructor(private readonly song: () => { readonly seconds: number; readonly sampleRate: number }) {}

  get range(): Range {
    return this.#part ?? wholeSong(this.song().seconds);
  }

  get isWhole(): boolean {
    return this.#part === null;
  }

  get #part(): Range | null {
    return fittedRange(this.#range, this.song().seconds);
  }

  show(range: Range | null): void {
    this.#range = range && fittedRange(range, this.song().seconds);
  }

  /** Shows `factor` times less of the song around a moment, seconds. */
  zoom(factor: number, anchor: number): void {
    const { seconds, sampleRate } = this.song();
    if (seconds > 0) this.show(zoomed(this.range, factor, anchor, seconds, sampleRate));
  }

  /** Moves along by a part of what is shown. */
  scroll(part: number): void {
    const { startSeconds, endSeconds } = this.range;
    this.show(scrolled(this.range, part * (endSeconds - startSeconds), this.song().seconds));
  }

  /** The playhead went on: where it has left what is shown, that goes along. One that was not seen before is not looked for. */
  follow(before: number, now: number): void {
    const { range } = this;
    const isSeen = before >= range.startSeconds && before <= range.endSeconds;
    if (isSeen && !this.isWhole) this.show(following(range, now, this.song().seconds));
  }
}
