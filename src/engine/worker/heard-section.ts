import type { Frames } from '../excerpt.ts';

/** What is heard next is rendered before the last section ends by so much more time than that one took. */
const HASTE = 1.5;
/** A section that took more than this part of its own length to render is the last: the rest of the song would never come about. */
const MOST_TAKEN = 0.5;

/** The section that was rendered first, because it is listened to, while the rest of the song is under way. */
export class HeardSection {
  private span: Frames | null = null;
  private timer: ReturnType<typeof setTimeout> | undefined;

  /** @param onLeft called once playing has come to what is not in a section, or nearly so */
  constructor(private readonly onLeft: () => void) {}

  /** It is heard from now on. `seconds`: its length; `took`: time to render it, seconds; `isLoop`: it is not played beyond. */
  begin(span: Frames, seconds: number, took: number, isLoop: boolean): void {
    this.end();
    this.span = span;
    if (isLoop || took > MOST_TAKEN * seconds) return;
    this.timer = setTimeout(() => this.onLeft(), 1000 * Math.max(0, seconds - HASTE * took));
  }

  /** All is rendered, or something else is. */
  end(): void {
    clearTimeout(this.timer);
    this.span = null;
  }

  /** Playing is at another place, from where on this is listened to; null: nothing is, or what runs live. */
  look(listenedTo: Frames | null): void {
    const { span } = this;
    if (!span || !listenedTo) return;
    if (listenedTo.from < span.from || listenedTo.from >= span.to) this.onLeft();
  }
}
