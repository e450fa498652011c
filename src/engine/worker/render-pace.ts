/** An edit is rendered when no further edit came for this time, ms. */
const REST_MS = 120;
/** While a control moves during playback, a newer state is rendered at least this often, ms. */
const LONGEST_WAIT_MS = 400;
/** A render of which more than this part is done is finished even after a newer edit. */
const NEARLY_DONE = 0.5;

/** A running render. */
interface Run {
  readonly stop: AbortController;
  part: number;
  /** The session has been edited since it began. */
  isOvertaken: boolean;
  /** The section at the playhead is rendered and playing: the rest need not be waited for. */
  isHeard: boolean;
}

type Timer = ReturnType<typeof setTimeout> | undefined;

/**
 * Decides when edits are rendered: one render at a time, always of the newest state. Without playback, once the control
 * rests, and an overtaken render is stopped. During playback, also while the control moves: a running render is then finished,
 * and the next follows, unless the moved path runs live: processor time is then left for drawing and playing.
 */
export class RenderPace {
  private run: Run | null = null;
  private rest: Timer;
  private limit: Timer;
  private isMoving = false;
  /** The last move is heard without a render. */
  private isLive = false;
  /** The last render was stopped for a newer one: the newer one is not stopped too, or none would ever end. */
  private stoppedLast = false;

  /** `render` renders the newest state, reports the part done (0..1), and never rejects. */
  constructor(private readonly render: (signal: AbortSignal, onPart: (part: number) => void) => Promise<void>) {}

  /** Ends the running render; nothing is rendered until the next call. */
  stop(): void {
    clearTimeout(this.rest);
    clearTimeout(this.limit);
    this.limit = undefined;
    this.isMoving = false;
    this.run?.stop.abort(new DOMException('replaced by newer work', 'AbortError'));
    this.run = null;
    this.stoppedLast = false;
  }

  /** Renders at once. */
  now(): void {
    this.stop();
    this.start();
  }

  /** The section at the playhead of the running render is already playing. */
  heard(): void {
    if (!this.run) return;
    this.run.isHeard = true;
    if (this.run.isOvertaken && !this.isLeft) this.now();
  }

  /** The session was edited. `isHeard`: playback would change by a render; `isLive`: the edit is already heard live. */
  edited(isHeard: boolean, isLive = false): void {
    if (!isHeard) this.stop();
    clearTimeout(this.rest);
    this.rest = setTimeout(() => this.rested(), REST_MS);
    this.isMoving = true;
    this.isLive = isLive;
    if (this.run) this.run.isOvertaken = true;
    if (isHeard && !isLive && this.run?.isHeard !== false) this.limit ??= setTimeout(() => this.now(), LONGEST_WAIT_MS);
  }

  private rested(): void {
    const { run } = this;
    this.isMoving = false;
    if (!run) this.start();
    else if (run.isOvertaken && run.isHeard) this.now();
    else if (run.isOvertaken && run.part < NEARLY_DONE && !this.stoppedLast) {
      this.now();
      this.stoppedLast = true;
    }
  }

  /** The moved control is heard without a render: the render follows when it rests. */
  private get isLeft(): boolean {
    return this.isLive && this.isMoving;
  }

  private start(): void {
    clearTimeout(this.limit);
    this.limit = undefined;
    const run: Run = { stop: new AbortController(), part: 0, isOvertaken: false, isHeard: false };
    this.run = run;
    void this.render(run.stop.signal, (part) => (run.part = part)).then(() => this.ended(run));
  }

  private ended(run: Run): void {
    if (this.run !== run) return;
    this.run = null;
    this.stoppedLast = false;
    if (run.isOvertaken && !this.isLeft) this.start();
  }
}
