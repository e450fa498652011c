import type { Session } from '../../session/schema.ts';
import { FileKeeper } from './file-keeper.ts';
import { openKeptDatabase, stepsOf, type KeptDatabase, type KeptRecord } from './kept-database.ts';
import { readSession, type ReadSession } from './read-session.ts';
import { receivedFile, receivedFolder } from './received-folder.ts';
import { claimedSessions } from './session-claim.ts';
import { SessionWriter } from './session-writer.ts';

/** A kept session in a list. */
export interface Listed {
  readonly id: string;
  readonly title: string;
  /** When it was changed last, ms since 1970. */
  readonly changed: number;
  /** Bytes of its document and history. */
  readonly documentBytes: number;
  /** Bytes of its received files that are on this device; shared files are counted with each session. */
  readonly soundBytes: number;
  /** True while some page has it open. */
  readonly isOpen: boolean;
}

/** Shared lock, held from when a file is written until a session names it; unused files are removed only while nobody holds it. */
const FILES_LOCK = 'tributary files';

/** Storage on this device: sessions in the browser's database, received files in its storage for this address. */
export class KeptRoom {
  readonly #files = new FileKeeper();

  private constructor(private readonly database: KeptDatabase) {}

  /** @throws the browser's error where it has no storage for this address */
  static async open(name?: string): Promise<KeptRoom> {
    return new KeptRoom(await openKeptDatabase(name));
  }

  /** The newest first. */
  async list(): Promise<Listed[]> {
    const [records, sizes, open] = await Promise.all([
      this.database.getAll('sessions'),
      this.#sizes(),
      claimedSessions(),
    ]);
    return records
      .map(({ id, title, changed, bytes, files }) => ({
        ...{ id, title, changed, documentBytes: bytes, isOpen: open.has(id) },
        soundBytes: [...new Set(Object.values(files))].reduce((sum, name) => sum + (sizes.get(name) ?? 0), 0),
      }))
      .sort((a, b) => b.changed - a.changed);
  }

  async #sizes(): Promise<Map<string, number>> {
    const transaction = this.database.transaction('files', 'readonly');
    const [names, sizes] = await Promise.all([transaction.store.getAllKeys(), transaction.store.getAll()]);
    return new Map(names.map((name, n) => [name, sizes[n]!]));
  }

  /** Records the open session; null: none. (Local storage would write it seconds later.) */
  async noteOpen(id: string | null): Promise<void> {
    await (id === null ? this.database.delete('open', 'last') : this.database.put('open', id, 'last'));
  }

  /** The session that was open last, in any page, if it is still there. */
  async lastOpen(): Promise<string | null> {
    const id = await this.database.get('open', 'last');
    return id !== undefined && (await this.has(id)) ? id : null;
  }

  async has(id: string): Promise<boolean> {
    return (await this.database.getKey('sessions', id)) !== undefined;
  }

  /** @throws ProblemError where it is missing, or cannot be read */
  read(id: string): Promise<ReadSession> {
    return readSession(this.database, id);
  }

  /** A writer for a session. */
  writer(id: string): SessionWriter {
    return new SessionWriter(this.database, id);
  }

  /** The complete received files of a session on this device, by their paths in the session. */
  async filesOf({ files }: Pick<KeptRecord, 'files'>): Promise<Map<string, File>> {
    const found = new Map<string, File>();
    for (const [path, name] of Object.entries(files)) {
      const bytes = await this.database.get('files', name);
      const file = bytes === undefined ? null : await receivedFile(name, bytes);
      if (file) found.set(path, file);
    }
    return found;
  }

  /**
   * Stores a received file, and calls `named` so that a session names it before it could be removed as unused. Rejects with RefusedError.
   */
  keepFile(blob: Blob, named: (name: string) => Promise<void>): Promise<void> {
    return navigator.locks.request(FILES_LOCK, { mode: 'shared' }, async () => named(await this.#files.keep(blob)));
  }

  /** A copy under a new title, with its history; received files are shared. */
  async duplicate(id: string): Promise<void> {
    const { record, history } = await this.read(id);
    const title = `${record.title.slice(0, 75)} copy`;
    const called = <Step extends { readonly session: Session }>(step: Step): Step => ({
      ...step,
      session: { ...step.session, title },
    });
    const { past, present, future, gesture } = history;
    await this.writer(crypto.randomUUID()).write({
      history: { past: past.map(called), present: { ...present, title }, future: future.map(called), gesture },
      ...{ isInFile: false, changed: Date.now(), files: record.files, view: record.view },
    });
  }

  /** Deletes sessions, and received files that no other one names. */
  async remove(ids: readonly string[]): Promise<void> {
    const transaction = this.database.transaction(['sessions', 'documents', 'steps'], 'readwrite');
    await Promise.all([
      ...ids.flatMap((id) => [
        transaction.objectStore('sessions').delete(id),
        transaction.objectStore('documents').delete(id),
        transaction.objectStore('steps').delete(stepsOf(id)),
      ]),
      transaction.done,
    ]);
    await this.sweep();
  }

  /** Removes the received files of a session that no other one names; document and history stay. */
  async freeSpace(id: string): Promise<void> {
    const record = await this.database.get('sessions', id);
    if (record) await this.database.put('sessions', { ...record, files: {} }, id);
    await this.sweep();
  }

  /** Removes received files that no session names, unless one is being stored. */
  async sweep(): Promise<void> {
    await navigator.locks.request(FILES_LOCK, { ifAvailable: true }, async (lock) => {
      if (!lock) return;
      const records = await this.database.getAll('sessions');
      const named = new Set(records.flatMap(({ files }) => Object.values(files)));
      const folder = await receivedFolder();
      const kept: string[] = [];
      for await (const name of folder.keys()) kept.push(name);
      for (const name of new Set([...kept, ...(await this.#sizes()).keys()])) {
        if (named.has(name)) continue;
        await this.database.delete('files', name);
        await folder.removeEntry(name).catch(() => undefined);
      }
    });
  }

  /** Ids of the sessions that are not open, are unchanged, and equal `id`: the same file opened again. */
  async twinsOf(id: string): Promise<string[]> {
    const text = await this.database.get('documents', id);
    const [records, open] = await Promise.all([this.database.getAll('sessions'), claimedSessions()]);
    const unchanged = records.filter(
      (record) => record.id !== id && !open.has(record.id) && record.past.length + record.future.length === 0,
    );
    const texts = await Promise.all(unchanged.map((record) => this.database.get('documents', record.id)));
    return unchanged.filter((_, n) => texts[n] === text).map((record) => record.id);
  }

  close(): void {
    this.#files.dispose();
    this.database.close();
  }
}
