import { messageOf } from '../../engine/message.ts';
import type { Asking } from '../../engine/questions.ts';

/** Something that is asked of the engine, one thing at a time: how far it is, why it failed, and its end when it is not wanted any more. */
export class UnderWay {
  #part = $state.raw<number | null>(null);
  #fault = $state.raw<string | null>(null);
  #control = new AbortController();

  /** The part done, 0..1; null: nothing is under way. */
  get part(): number | null {
    return this.#part;
  }
  /** Why there is no answer: one sentence. */
  get fault(): string | null {
    return this.#fault;
  }

  /** Asks; what was under way before ends. Whoever asks keeps the answer. */
  async run(ask: (asking: Required<Pick<Asking, 'signal' | 'onProgress'>>) => Promise<void>): Promise<void> {
    this.cancel();
    const control = new AbortController();
    this.#control = control;
    const { signal } = control;
    const onProgress = (part: number): void => {
      if (!signal.aborted) this.#part = part;
    };
    this.#fault = null;
    onProgress(0);
    try {
      await ask({ signal, onProgress });
    } catch (error) {
      if (!signal.aborted) this.#fault = messageOf(error);
    }
    if (this.#control === control) this.#part = null;
  }

  cancel(): void {
    this.#control.abort(new DOMException('not wanted any more', 'AbortError'));
    this.#part = null;
  }

  /** Nothing is under way, and nothing has failed. */
  clear(): void {
    this.cancel();
    this.#fault = null;
  }
}
