import type { Component } from 'svelte';
import { messageOf } from '../../engine/message.ts';
import type { Bench } from '../bench/bench.svelte.ts';

const NOT_FETCHED = 'this part of the app could not be fetched; see that the app is still served, then try again';

/** A part of the screen that is fetched when it is first asked for, so that the page opens without it. */
export class LatePart<Given extends Record<string, unknown> = Record<string, never>> {
  readonly #get: () => Promise<{ default: Component<Given> }>;
  #component = $state.raw<Component<Given> | null>(null);
  #coming: Promise<void> | null = null;

  constructor(get: () => Promise<{ default: Component<Given> }>) {
    this.#get = get;
  }

  /** null: it is not here yet. */
  get component(): Component<Given> | null {
    return this.#component;
  }

  /** Fetches it, once. Rejects with a sentence where that cannot be done; the next call tries again. */
  fetch(): Promise<void> {
    return (this.#coming ??= this.#get().then(
      (part) => {
        this.#component = part.default;
      },
      () => {
        this.#coming = null;
        throw new Error(NOT_FETCHED);
      },
    ));
  }

  /** The same for the screen: what goes wrong is told there, and `otherwise` takes back what was asked for. */
  ask(bench: Pick<Bench, 'say'>, otherwise: () => void): void {
    void this.fetch().catch((error: unknown) => {
      bench.say(messageOf(error), 'files');
      otherwise();
    });
  }
}
