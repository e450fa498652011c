import type { Claim } from '../../engine/kept/session-claim.ts';
import type { KeptRoom } from '../../engine/kept/kept-room.ts';
import { TakenError, type SessionWriter, type Snapshot } from '../../engine/kept/session-writer.ts';
import { SteadyWriter, type Steadiness } from '../../engine/kept/steady-writer.ts';
import type { AudioFiles } from '../../engine/engine.ts';

/** What is kept beside the received files. */
export type State = Omit<Snapshot, 'files' | 'changed'>;

interface KeptSessionListener {
  /** Where the newest state stands. */
  readonly steadiness: (steadiness: Steadiness, error?: unknown) => void;
  /** How many received files are still to be kept. */
  readonly filesLeft: (count: number) => void;
  /** A file is not kept. */
  readonly refused: (error: unknown) => void;
  /** Another page has the session now. */
  readonly lost: () => void;
}

const isSame = (a: State, b: State): boolean =>
  a.history.present === b.history.present &&
  a.history.past === b.history.past &&
  a.history.future === b.history.future &&
  a.isInFile === b.isInFile &&
  a.place === b.place &&
  JSON.stringify(a.view) === JSON.stringify(b.view);

/** One session that this page has, as it is kept: its states as they change, and its received files. */
export class KeptSession {
  readonly #steady: SteadyWriter<Snapshot>;
  /** The blobs that are kept, or on their way, by the path that the session calls them. */
  readonly #blobs: Map<string, Blob>;
  readonly #coming = new Set<Promise<void>>();
  /** Paths that were looked for among what is kept. */
  readonly #asked = new Set<string>();
  #state: State | null = null;
  #files: Snapshot['files'];
  #changed: number;

  constructor(
    private readonly room: KeptRoom,
    private readonly writer: SessionWriter,
    private readonly claimed: Promise<Claim | null>,
    private readonly listener: KeptSessionListener,
    /** What is kept of it already, and the files of that. */
    kept: Pick<Snapshot, 'files' | 'changed'> = { files: {}, changed: Date.now() },
    blobs: AudioFiles = new Map(),
  ) {
    this.#files = kept.files;
    this.#changed = kept.changed;
    this.#blobs = new Map(blobs);
    const write = async (snapshot: Snapshot): Promise<void> => {
      await claimed;
      await writer.write(snapshot);
    };
    this.#steady = new SteadyWriter(write, (steadiness, error) => {
      if (error instanceof TakenError) listener.lost();
      else listener.steadiness(steadiness, error);
    });
  }

  get id(): string {
    return this.writer.id;
  }

  /** What is kept of these paths beside what is in hand; each is looked for once. */
  async keptFiles(paths: readonly string[]): Promise<AudioFiles> {
    const wanted = new Set(paths.filter((path) => !this.#asked.has(path)));
    for (const path of wanted) this.#asked.add(path);
    const files = Object.fromEntries(Object.entries(this.#files).filter(([path]) => wanted.has(path)));
    const found = await this.room.filesOf({ files });
    for (const [path, file] of found) this.#blobs.set(path, file);
    return found;
  }

  /** The session as it stands, and its received files in hand. */
  follow(state: State, blobs: AudioFiles): void {
    for (const [path, blob] of blobs) if (this.#blobs.get(path) !== blob) this.#keepFile(path, blob);
    if (this.#state && isSame(this.#state, state)) return;
    if (this.#state && this.#state.history.present !== state.history.present) this.#changed = Date.now();
    this.#state = state;
    this.#write();
  }

  /** Writes at once what waits. */
  flush(): Promise<void> {
    return this.#steady.flush();
  }

  /** Nothing is written any more. */
  stop(): void {
    this.#steady.stop();
  }

  /** Writes what waits, files too, and lets go of the session. */
  async close(): Promise<void> {
    await Promise.all(this.#coming);
    await this.flush();
    this.stop();
    (await this.claimed)?.release();
  }

  #write(): void {
    if (this.#state) this.#steady.keep({ ...this.#state, files: this.#files, changed: this.#changed });
  }

  #keepFile(path: string, blob: Blob): void {
    this.#blobs.set(path, blob);
    const named = async (name: string): Promise<void> => {
      this.#files = { ...this.#files, [path]: name };
      this.#write();
      await this.flush();
    };
    const coming: Promise<void> = this.room
      .keepFile(blob, named)
      .catch((error: unknown) => this.listener.refused(error))
      .finally(() => {
        this.#coming.delete(coming);
        this.listener.filesLeft(this.#coming.size);
      });
    this.#coming.add(coming);
    this.listener.filesLeft(this.#coming.size);
  }
}
