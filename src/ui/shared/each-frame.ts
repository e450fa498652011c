/** A page that is not seen draws no frames: then the work is done after this, ms. */
const UNSEEN_MS = 100;

/** Does the same work at most once for every frame that is drawn, however often it is asked for. */
export class EachFrame {
  private frame: number | undefined;
  private timer: ReturnType<typeof setTimeout> | undefined;

  constructor(private readonly work: () => void) {}

  /** The work is wanted by the next frame. */
  ask(): void {
    if (this.frame !== undefined) return;
    this.frame = requestAnimationFrame(() => this.now());
    this.timer = setTimeout(() => this.now(), UNSEEN_MS);
  }

  /** Does it at once, in place of what was asked for. */
  now(): void {
    this.drop();
    this.work();
  }

  /** It is not wanted any more. */
  drop(): void {
    if (this.frame !== undefined) cancelAnimationFrame(this.frame);
    clearTimeout(this.timer);
    this.frame = undefined;
  }
}
