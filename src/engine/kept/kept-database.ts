import { openDB, type DBSchema, type IDBPDatabase } from 'idb';
import type { Change } from '../worker/changes.ts';

/** A step that can be undone or redone: its label, and the number of its change in `steps`. */
export interface KeptStep {
  readonly number: number;
  readonly label: string;
  readonly bytes: number;
}

/** A kept session without its document. */
export interface KeptRecord {
  readonly id: string;
  readonly title: string;
  /** When it was changed last, ms since 1970. */
  readonly changed: number;
  /** Size of the document with its history. */
  readonly bytes: number;
  /** True where a file of the user's holds the current state. */
  readonly isInFile: boolean;
  /** Each leads from the state after it to the one before; the last one from the document. */
  readonly past: readonly KeptStep[];
  /** Each leads from the state before it to the next; the first one from the document. */
  readonly future: readonly KeptStep[];
  /** The name of each received file's content, by its path in the session. */
  readonly files: Readonly<Record<string, string>>;
  /** View state; written and read by the screen only. */
  readonly view: unknown;
  /** The user's file on disk; written and read by the screen only. Absent: none. */
  readonly place?: unknown;
  /** The current writer: any other writer is refused. */
  readonly writer: string;
}

interface Schema extends DBSchema {
  sessions: { key: string; value: KeptRecord };
  /** The document as `sessionText` writes it, by session. */
  documents: { key: string; value: string };
  /** Changes of steps, by session and number; null: none. */
  steps: { key: [session: string, number: number]; value: Change | null };
  /** Size of each complete received file, bytes, by the name of its content. */
  files: { key: string; value: number };
  /** The session that was open last, under the key `last`. */
  open: { key: string; value: string };
}

export type KeptDatabase = IDBPDatabase<Schema>;

/** All of one session's steps. */
export const stepsOf = (id: string): IDBKeyRange => IDBKeyRange.bound([id], [id, []]);

/** Opens the browser's database of kept sessions. @throws the browser's error where it has no storage for this address */
export const openKeptDatabase = (name = 'tributary'): Promise<KeptDatabase> =>
  openDB<Schema>(name, 1, {
    upgrade: (database) => {
      for (const store of ['sessions', 'documents', 'steps', 'files', 'open'] as const)
        database.createObjectStore(store);
    },
  });
