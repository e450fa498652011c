/** An edit is rendered when the hand has rested this long, ms. */
const REST_MS = 120;
/** What is heard is not left behind a moving hand for longer than this before something nearer is rendered, ms. */
const LONGEST_WAIT_MS = 400;
/** A render of which more than this is done goes on to its end though the hand has moved on. */
const NEARLY_DONE = 0.5;

/** A render under way. */
interface Run {
  readonly stop: AbortController;
  part: number;
  /** The session has been edited since it began. */
  isOvertaken: boolean;
  /** What is listened to has been rendered, and is heard: the rest need not be waited for. */
  isHeard: boolean;
}

type Timer = ReturnType<typeof setTimeout> | undefined;

/**
 * When edits are rendered: one render at a time, always of what is newest when it begins. Where nothing is heard, once the hand
 * rests, and what is overtaken is stopped. Where something is heard, also while the hand moves: a render under way then goes on
 * to its end, and the next follows, unless what is moved runs live: the processors are then left to what draws and plays.
 */
export class RenderPace {
  private run: Run | null = null;
  private rest: Timer;
  private limit: Timer;
  private isMoving = false;
  /** What was moved last is heard as it is without a render. */
  private isLive = false;
  /** The last render was stopped for a newer one: that one is not stopped as well, or none would ever end. */
  private stoppedLast = false;

  /** `render` renders what is newest, tells how far it is (0..1), and never rejects. */
  constructor(private readonly render: (signal: AbortSignal, onPart: (part: number) => void) => Promise<void>) {}

  /** Ends the render under way; nothing is rendered until the next call. */
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

  /** What is listened to of the render under way is heard already. */
  heard(): void {
    if (!this.run) return;
    this.run.isHeard = true;
    if (this.run.isOvertaken && !this.isLeft) this.now();
  }

  /** The session was edited. `isHeard`: something plays that a render brings nearer to it; `isLive`: that plays as it is now already. */
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

  /** What the hand moves is heard without a render: it comes when the hand has rested. */
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
