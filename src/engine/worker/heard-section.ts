import type { Frames } from '../excerpt.ts';

/** Rendering of the next section begins before the last one ends, by this factor times the time that the last one took. */
const HASTE = 1.5;
/** If rendering a section took more than this part of its length, no further section is rendered first: the rest of the song would never be finished. */
const MOST_TAKEN = 0.5;

/** The section around the playback position that is rendered first, before the rest of the song. */
export class HeardSection {
  private span: Frames | null = null;
  private timer: ReturnType<typeof setTimeout> | undefined;

  /** @param onLeft called once playback has reached the end of the section, or nearly so */
  constructor(private readonly onLeft: () => void) {}

  /** The section is being played. `seconds`: its length; `took`: time to render it, seconds; `isLoop`: playback stays inside it. */
  begin(span: Frames, seconds: number, took: number, isLoop: boolean): void {
    this.end();
    this.span = span;
    if (isLoop || took > MOST_TAKEN * seconds) return;
    this.timer = setTimeout(() => this.onLeft(), 1000 * Math.max(0, seconds - HASTE * took));
  }

  /** The whole song is rendered, or another render has begun. */
  end(): void {
    clearTimeout(this.timer);
    this.span = null;
  }

  /** Playback has moved to this position; null: nothing plays, or a live path does. */
  look(listenedTo: Frames | null): void {
    const { span } = this;
    if (!span || !listenedTo) return;
    if (listenedTo.from < span.from || listenedTo.from >= span.to) this.onLeft();
  }
}
