import type { Session } from '../session/schema.ts';
import type { AudioFileFacts, AudioFiles } from './engine.ts';
import { EngineLink } from './engine-link.ts';
import { allFilesOf } from './files-of-session.ts';
import { changeOf } from './worker/changes.ts';
import { doneOf } from './worker/outcome.ts';
import type { EngineMessage, RemoteCalls } from './worker/protocol.ts';

/** The state that the worker should have: session, solo and edition. */
interface Wanted {
  readonly edition: number;
  readonly session: Session;
  readonly isPlaying: boolean;
  readonly solo: readonly string[];
}

/**
 * The worker and the session that it holds. Of an edit only the changes are sent, of files only those that it has not read. Where a worker is lost,
 * the next edit starts another, with the current session and its files.
 */
export class SessionInWorker {
  /** null: the next call starts one. */
  private running: EngineLink | null;
  /** The session as the worker has it; null: it has none. */
  private sent: Session | null = null;
  /** The edition that it was opened with. */
  private opened = 0;
  /** Files that the worker has read, and all open files, by their paths in sessions. */
  private held: AudioFiles = new Map();
  private files: AudioFiles = new Map();
  private wanted: Wanted | null = null;
  private isStarting = false;

  constructor(
    private readonly onMessage: (message: EngineMessage) => void,
    /** Called with the reason when the worker is gone or cannot be started. */
    private readonly onLost: (reason: Error) => void,
  ) {
    // It loads in parallel with the screen.
    this.running = this.start();
  }

  private get link(): EngineLink {
    return (this.running ??= this.start());
  }

  private start(): EngineLink {
    const lose = (why: string): void => {
      this.running = null;
      this.sent = null;
      this.held = new Map();
      this.onLost(new Error(why));
    };
    return new EngineLink(this.onMessage, lose);
  }

  /** Calls the worker. Rejects where it is lost before it has answered. */
  call<T>(work: (calls: RemoteCalls) => Promise<T>): Promise<T> {
    return this.link.call(work);
  }

  /** Calls it without an answer. */
  send(work: (calls: RemoteCalls) => Promise<void>): void {
    this.link.send(work);
  }

  /** Opens a session in place of the last one. Rejects as `Engine.open` does. */
  async open(edition: number, session: Session, files: AudioFiles): Promise<void> {
    const fresh = new Map([...files].filter(([path, file]) => this.held.get(path) !== file));
    const held = [...files.keys()].filter((path) => !fresh.has(path));
    doneOf(await this.call((calls) => calls.open(edition, session, fresh, held)));
    const kept = new Set(allFilesOf(session));
    this.held = new Map([...files].filter(([path]) => kept.has(path)));
    this.files = this.held;
    this.sent = session;
    this.opened = edition;
  }

  async addFiles(edition: number, files: AudioFiles): Promise<readonly AudioFileFacts[]> {
    const facts = doneOf(await this.call((calls) => calls.addFiles(edition, files)));
    this.held = new Map([...this.held, ...files]);
    this.files = new Map([...this.files, ...files]);
    return facts;
  }

  /** The session after an edit, with its solos. `isPlaying`: it is playing. */
  apply(edition: number, session: Session, isPlaying: boolean, solo: readonly string[]): void {
    this.wanted = { edition, session, isPlaying, solo };
    if (this.isStarting) return;
    if (!this.sent) return void this.startAgain(this.wanted);
    const change = changeOf(this.sent, session);
    this.sent = session;
    this.send((calls) => calls.apply(edition, this.opened, change, isPlaying, solo));
  }

  private async startAgain(beginning: Wanted): Promise<void> {
    this.isStarting = true;
    try {
      await this.open(beginning.edition, beginning.session, this.files);
    } catch (error) {
      // Another session was opened in its place.
      if (error instanceof DOMException) return;
      this.onLost(error as Error);
      return;
    } finally {
      this.isStarting = false;
    }
    const { wanted } = this;
    const isMore = wanted !== null && (wanted !== beginning || wanted.solo.length > 0);
    if (isMore) this.apply(wanted.edition, wanted.session, wanted.isPlaying, wanted.solo);
  }

  dispose(): void {
    this.running?.dispose();
  }
}
