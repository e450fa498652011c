import { openDB, type DBSchema, type IDBPDatabase } from 'idb';
import type { Change } from '../worker/changes.ts';

/** A step that can be undone or redone: what it is called, and under which number what it changes lies in `steps`. */
export interface KeptStep {
  readonly number: number;
  readonly label: string;
  readonly bytes: number;
}

/** What is known of a kept session without its document. */
export interface KeptRecord {
  readonly id: string;
  readonly title: string;
  /** When it was changed last, ms since 1970. */
  readonly changed: number;
  /** Size of the document with its history. */
  readonly bytes: number;
  /** True where it stands in a file of the user's as it is. */
  readonly isInFile: boolean;
  /** Each leads from the state after it to the one before; the last one from the document. */
  readonly past: readonly KeptStep[];
  /** Each leads from the state before it to the next; the first one from the document. */
  readonly future: readonly KeptStep[];
  /** The name of each received file's content, by the path that the session calls it. */
  readonly files: Readonly<Record<string, string>>;
  /** What the screen showed of it; the screen's own. */
  readonly view: unknown;
  /** Where the user has it on the disk; the screen's own. Absent: nowhere. */
  readonly place?: unknown;
  /** Who writes it: another writer has it no more. */
  readonly writer: string;
}

interface Schema extends DBSchema {
  sessions: { key: string; value: KeptRecord };
  /** The document as `sessionText` writes it, by session. */
  documents: { key: string; value: string };
  /** What steps change, by session and number; null: nothing. */
  steps: { key: [session: string, number: number]; value: Change | null };
  /** Bytes of each received file that is whole on the disk, by the name of its content. */
  files: { key: string; value: number };
  /** The session that was open last, under the key `last`. */
  open: { key: string; value: string };
}

export type KeptDatabase = IDBPDatabase<Schema>;

/** All of one session's steps. */
export const stepsOf = (id: string): IDBKeyRange => IDBKeyRange.bound([id], [id, []]);

/** Opens the browser's database of kept sessions. @throws the browser's error where it keeps none for this address */
export const openKeptDatabase = (name = 'tributary'): Promise<KeptDatabase> =>
  openDB<Schema>(name, 1, {
    upgrade: (database) => {
      for (const store of ['sessions', 'documents', 'steps', 'files', 'open'] as const)
        database.createObjectStore(store);
    },
  });
