import { timeLeft } from '../engine/time-left.ts';

/** Where a command line writes: the process's own streams, or a test's. */
export interface Streams {
  /** Standard output: the answer, and nothing else. */
  readonly out: (text: string) => void;
  /** Standard error: problems, and progress where a person watches. */
  readonly err: (text: string) => void;
  /** True when standard error is a terminal. */
  readonly watched: boolean;
}

/** The streams of this process. */
export const processStreams = (): Streams => ({
  out: (text) => void process.stdout.write(text),
  err: (text) => void process.stderr.write(text),
  watched: process.stderr.isTTY === true,
});

const START_OF_LINE = '\r\u001b[K';

/** Output of commands: answers, notes, and one line of progress, which is removed before other output. */
export class Console {
  private shown = '';
  /** The running work, and when it began, ms. */
  private work = { what: '', since: 0 };

  constructor(private readonly streams: Streams) {}

  /** Writes to standard output. */
  readonly out = (text: string): void => {
    this.clear();
    this.streams.out(text);
  };

  /** Writes one line to standard error. */
  readonly note = (line: string): void => {
    this.clear();
    this.streams.err(`${line}\n`);
  };

  /** Shows the running work and the part done (0..1) where that is known; only on a terminal. */
  readonly progress = (what: string, done?: number): void => {
    if (!this.streams.watched) return;
    if (what !== this.work.what) this.work = { what, since: performance.now() };
    const left = done === undefined ? null : timeLeft(done, (performance.now() - this.work.since) / 1000);
    const percent = done === undefined ? '' : ` ${Math.floor(100 * done)} %`;
    const line = `${what} ...${percent}${left === null ? '' : `, ${left}`}`;
    if (line !== this.shown) this.streams.err(START_OF_LINE + line);
    this.shown = line;
  };

  private clear(): void {
    if (this.shown !== '') this.streams.err(START_OF_LINE);
    this.shown = '';
  }
}
