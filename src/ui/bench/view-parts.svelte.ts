import type { EngineView } from '../../engine/engine.ts';

/** The engine's view in parts: who reads one is told when this one changes, and not of all others, some of which change many times a second. */
export class ViewParts implements EngineView {
  readonly #read: () => EngineView;
  readonly state = $derived.by(() => this.#read().state);
  readonly findings = $derived.by(() => this.#read().findings);
  readonly isMeasured = $derived.by(() => this.#read().isMeasured);
  readonly measuredPart = $derived.by(() => this.#read().measuredPart);
  readonly seconds = $derived.by(() => this.#read().seconds);
  readonly storage = $derived.by(() => this.#read().storage);
  readonly missing = $derived.by(() => this.#read().missing);
  readonly playing = $derived.by(() => this.#read().playing);
  readonly waits = $derived.by(() => this.#read().waits);
  readonly audible = $derived.by(() => this.#read().audible);
  readonly matchedLufs = $derived.by(() => this.#read().matchedLufs);
  readonly comparison = $derived.by(() => this.#read().comparison);
  readonly live = $derived.by(() => this.#read().live);

  /** `read` reads the view, and is followed. */
  constructor(read: () => EngineView) {
    this.#read = read;
  }
}
