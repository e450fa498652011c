import type { AudioFiles, Engine } from '../../engine/engine.ts';
import type { Received } from '../../intake/received.ts';
import type { Session } from '../../session/schema.ts';
import { UnderWay } from '../shared/under-way.svelte.ts';

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
  readonly #work = new UnderWay();

  constructor(
    private readonly engine: Engine,
    private readonly session: () => Session | null,
  ) {}

  get answer(): Answer | null {
    return this.#answer;
  }
  /** The part done, 0..1; null: nothing is under way. */
  get part(): number | null {
    return this.#work.part;
  }
  /** Why there is no answer: one sentence. */
  get fault(): string | null {
    return this.#work.fault;
  }
  /** True when the session has other files since. */
  get isOld(): boolean {
    const now = this.session();
    return this.#answer !== null && now !== null && filesIn(now) !== filesIn(this.#answer.of);
  }

  /** Checks all files of the session that are among `files`. */
  run(files: AudioFiles): Promise<void> {
    const session = this.session()!;
    const inHand = session.tracks.filter(({ file }) => files.has(file));
    const rough = session.rough && files.get(session.rough.file);
    const asked = {
      tracks: inHand.map(({ file }) => [file, files.get(file)!] as const),
      rough: session.rough && rough ? ([session.rough.file, rough] as const) : null,
    };
    return this.#work.run(async (asking) => {
      const received = await this.engine.receive(asked, asking);
      const aside = received.aside.map(({ file }) => file);
      const ids = inHand.filter(({ file }) => !aside.includes(file)).map(({ id }) => id);
      this.#answer = { received, ids, of: session };
    });
  }

  cancel(): void {
    this.#work.cancel();
  }

  /** Another song is in hand. */
  clear(): void {
    this.#work.clear();
    this.#answer = null;
  }
}
