import type { Engine, Meters } from '../../engine/engine.ts';
import { EachFrame } from '../shared/each-frame.ts';

/** Draws what the meters read; null: nothing plays. `at`: now, seconds. */
export type MeterDrawing = (meters: Meters | null, at: number) => void;

/** Where movement is to be reduced, meters are drawn anew after this, seconds. */
const CALM_SECONDS = 0.25;

const now = (): number => performance.now() / 1000;

/** Brings what the meters read to all that draws it, once a frame; the engine is asked only while somebody draws. */
export class MeterReadings {
  private readonly drawings = new Set<MeterDrawing>();
  private latest: Meters | null = null;
  private drawnAt = 0;
  private isResting = true;
  private stop = (): void => {};
  private readonly frame = new EachFrame(() => this.draw());
  private readonly calm = matchMedia('(prefers-reduced-motion: reduce)');

  constructor(private readonly engine: Engine) {}

  /** Draws from now on, as long as what this answers is not called. */
  draws(drawing: MeterDrawing): () => void {
    if (this.drawings.size === 0) this.begin();
    this.drawings.add(drawing);
    return () => {
      this.drawings.delete(drawing);
      if (this.drawings.size === 0) this.end();
    };
  }

  private begin(): void {
    const unheard = this.engine.listenToMeters((meters) => {
      this.latest = meters;
      this.frame.ask();
    });
    const unseen = this.engine.listen(() => {
      if (!this.engine.view.playing && !this.isResting) this.frame.ask();
    });
    this.stop = () => {
      unheard();
      unseen();
    };
  }

  private end(): void {
    this.stop();
    this.frame.drop();
  }

  private draw(): void {
    const at = now();
    this.isResting = !this.engine.view.playing;
    if (!this.isResting && this.calm.matches && at - this.drawnAt < CALM_SECONDS) return;
    this.drawnAt = at;
    for (const drawing of this.drawings) drawing(this.isResting ? null : this.latest, at);
  }
}
