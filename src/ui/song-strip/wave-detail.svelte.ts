import type { Engine, Heard, Overview, Range } from '../../engine/engine.ts';
import { covers, isFine } from './strip-geometry.ts';
import { scrolled } from './strip-range.ts';

/** The strip is taken as at rest after this, ms. */
const REST_MS = 60;
/** Part of the shown range that is fetched beyond either end of it, so that scrolling finds it there. */
const BESIDE = 1;

/** What a strip shows, how wide it is, px, and of which song. */
export interface Strip {
  readonly range: Range;
  readonly width: number;
  readonly seconds: number;
  readonly sampleRate: number;
}

/** The samples of one side as finely as a strip that is zoomed in shows them. */
export class WaveDetail {
  #fine = $state.raw<{ readonly of: Overview; readonly detail: Overview } | null>(null);
  #work: AbortController | null = null;
  #rest: ReturnType<typeof setTimeout> | undefined;

  constructor(private readonly engine: Engine) {}

  /** What is drawn of a sound: the overview of all of it, until its detail is there. */
  of(overview: Overview, range: Range): Overview {
    const fine = this.#fine;
    return fine?.of === overview && covers(fine.detail, range) ? fine.detail : overview;
  }

  /** Asks for what `of` lacks, once the strip rests. */
  look(side: Heard, overview: Overview, strip: Strip): void {
    this.stop();
    const { range, width, sampleRate } = strip;
    const { secondsPerColumn } = this.of(overview, range);
    const isFinest = secondsPerColumn * sampleRate < 1.5;
    if (width === 0 || isFinest || isFine({ secondsPerColumn }, width, range)) return;
    this.#rest = setTimeout(() => void this.#ask(side, overview, strip), REST_MS);
  }

  stop(): void {
    clearTimeout(this.#rest);
    this.#work?.abort(new DOMException('not wanted any more', 'AbortError'));
    this.#work = null;
  }

  async #ask(side: Heard, overview: Overview, { range, width, seconds }: Strip): Promise<void> {
    const work = new AbortController();
    this.#work = work;
    const span = range.endSeconds - range.startSeconds;
    const wide = {
      startSeconds: scrolled(range, -BESIDE * span, seconds).startSeconds,
      endSeconds: scrolled(range, BESIDE * span, seconds).endSeconds,
    };
    const columns = Math.ceil((1 + 2 * BESIDE) * width);
    try {
      const detail = await this.engine.ask({ kind: 'waveform', side, range: wide, columns }, { signal: work.signal });
      if (detail) this.#fine = { of: overview, detail };
    } catch {
      // Withdrawn, or the sound has changed: its new overview asks again.
    }
    if (this.#work === work) this.#work = null;
  }
}
