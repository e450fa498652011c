import type { Sweep } from '../../blend/sweep.ts';
import type { Session } from '../../session/schema.ts';
import type { Bench } from '../bench/bench.svelte.ts';

/** Range that a sweep covers unless told otherwise, dB. */
const FROM = -36;
const TO = 6;
const STEP = 2;

/** A sweep of one bus: asked for, under way, or there. */
export class SweepJob {
  #sweep = $state.raw<Sweep | null>(null);
  /** The session that the sweep is of. */
  #of: Session | null = $state.raw(null);
  #progress = $state.raw<number | null>(null);
  #work = new AbortController();

  constructor(
    private readonly bench: Bench,
    readonly bus: string,
  ) {}

  get sweep(): Sweep | null {
    return this.#sweep;
  }
  /** 0..1 while it is under way. */
  get progress(): number | null {
    return this.#progress;
  }
  /** True when something but the blend of this bus has changed since. */
  get isOld(): boolean {
    const now = this.bench.session;
    if (!this.#of || !now || now === this.#of) return false;
    const others = (session: Session): Session => ({
      ...session,
      buses: session.buses.map((bus) => (bus.id === this.bus ? { ...bus, blendDb: 0 } : bus)),
      passes: [],
      trials: [],
      guards: session.guards,
    });
    return JSON.stringify(others(now)) !== JSON.stringify(others(this.#of));
  }

  async run(): Promise<void> {
    this.cancel();
    const work = new AbortController();
    this.#work = work;
    const of = this.bench.session;
    this.#progress = 0;
    await this.bench.attempt('sound', async () => {
      const axis = { bus: this.bus, from: FROM, to: TO, step: STEP };
      const onProgress = (part: number): void => {
        if (this.#work === work) this.#progress = part;
      };
      this.#sweep = await this.bench.engine.ask(
        { kind: 'sweep', axis, section: null },
        { signal: work.signal, onProgress },
      );
      this.#of = of;
    });
    if (this.#work === work) this.#progress = null;
  }

  cancel(): void {
    this.#work.abort(new DOMException('not wanted any more', 'AbortError'));
    this.#progress = null;
  }
}
