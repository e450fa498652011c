import type { AudioFiles, Engine } from '../../engine/engine.ts';
import { messageOf } from '../../engine/message.ts';
import type { Received } from '../../intake/received.ts';
import type { Session } from '../../session/schema.ts';

/** Files that were checked. */
interface Answer {
  readonly received: Received;
  /** Of the session's tracks, in the order of what was received. */
  readonly ids: readonly string[];
  /** The session that was checked. */
  readonly of: Session;
}

/** The files that a session names, as a text. */
const filesIn = ({ tracks, rough }: Session): string =>
  JSON.stringify([tracks.map(({ id, file }) => [id, file]), rough?.file ?? null]);

/** The check of the received files: asked for, under way, or there. */
export class ReceivedJob {
  #answer = $state.raw<Answer | null>(null);
  #part = $state.raw<number | null>(null);
  #fault = $state.raw<string | null>(null);
  #control = new AbortController();

  constructor(
    private readonly engine: Engine,
    private readonly session: () => Session | null,
  ) {}

  get answer(): Answer | null {
    return this.#answer;
  }
  /** The part done, 0..1; null: nothing is under way. */
  get part(): number | null {
    return this.#part;
  }
  /** Why there is no answer: one sentence. */
  get fault(): string | null {
    return this.#fault;
  }
  /** True when the session has other files since. */
  get isOld(): boolean {
    const now = this.session();
    return this.#answer !== null && now !== null && filesIn(now) !== filesIn(this.#answer.of);
  }

  /** Checks all files of the session that are among `files`. */
  async run(files: AudioFiles): Promise<void> {
    this.cancel();
    const control = new AbortController();
    this.#control = control;
    const session = this.session()!;
    const inHand = session.tracks.filter(({ file }) => files.has(file));
    const rough = session.rough && files.get(session.rough.file);
    const asked = {
      tracks: inHand.map(({ file }) => [file, files.get(file)!] as const),
      rough: session.rough && rough ? ([session.rough.file, rough] as const) : null,
    };
    this.#fault = null;
    this.#part = 0;
    const onProgress = (part: number): void => {
      if (!control.signal.aborted) this.#part = part;
    };
    try {
      const received = await this.engine.receive(asked, { signal: control.signal, onProgress });
      const aside = received.aside.map(({ file }) => file);
      const ids = inHand.filter(({ file }) => !aside.includes(file)).map(({ id }) => id);
      this.#answer = { received, ids, of: session };
    } catch (error) {
      if (!control.signal.aborted) this.#fault = messageOf(error);
    }
    if (this.#control === control) this.#part = null;
  }

  cancel(): void {
    this.#control.abort(new DOMException('not wanted any more', 'AbortError'));
    this.#part = null;
  }

  /** Another song is in hand. */
  clear(): void {
    this.cancel();
    this.#answer = null;
    this.#fault = null;
  }
}
