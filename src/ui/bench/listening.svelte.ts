import type { Engine, Heard, Range } from '../engine/engine.ts';

/** Level of the monitor when the app opens, dB: low, so that nothing is a shock. */
export const FIRST_MONITOR_DB = -24;

/** What is heard, how, and where in the song. */
export class Listening {
  readonly #engine: Engine;
  #heard = $state.raw<Heard>('mix');
  #matching = $state.raw(true);
  #monitorDb = $state.raw(FIRST_MONITOR_DB);
  #mono = $state.raw(false);
  #loop = $state.raw<Range | null>(null);
  #seconds = $state.raw(0);

  constructor(engine: Engine) {
    this.#engine = engine;
  }

  get heard(): Heard {
    return this.#heard;
  }
  get matching(): boolean {
    return this.#matching;
  }
  get monitorDb(): number {
    return this.#monitorDb;
  }
  get mono(): boolean {
    return this.#mono;
  }
  get loopRange(): Range | null {
    return this.#loop;
  }
  /** Where playing is, seconds, as of the last `look`. */
  get seconds(): number {
    return this.#seconds;
  }

  /** Asks the engine where playing is; called in every frame while it plays. */
  look(): void {
    this.#seconds = this.#engine.position();
  }

  async toggle(): Promise<void> {
    if (this.#engine.view.playing) this.#engine.pause();
    else await this.#engine.play();
    this.look();
  }

  seek(seconds: number): void {
    this.#engine.seek(Math.min(this.#engine.view.seconds, Math.max(0, seconds)));
    this.look();
  }

  loop(range: Range | null): void {
    this.#loop = range;
    this.#engine.loop(range);
    this.look();
  }

  hear(heard: Heard): void {
    if (!this.#engine.view.audible.includes(heard)) return;
    this.#heard = heard;
    this.#engine.hear(heard);
  }

  match(on: boolean): void {
    this.#matching = on;
    this.#engine.match(on);
  }

  monitor(levelDb: number): void {
    this.#monitorDb = levelDb;
    this.#engine.monitor(levelDb);
  }

  foldToMono(on: boolean): void {
    this.#mono = on;
    this.#engine.mono(on);
  }

  /** A new song: from its start, without the loop of the last one. */
  restart(): void {
    this.loop(null);
    this.#heard = 'mix';
    this.#engine.hear('mix');
    this.seek(0);
  }
}
