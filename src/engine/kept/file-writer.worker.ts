/// <reference lib="webworker" />
import { createBLAKE3 } from 'hash-wasm';
import { openKeptDatabase } from './kept-database.ts';
import { receivedFile, receivedFolder } from './received-folder.ts';

/** Stores received files in the browser's storage, one after the other, read piece by piece; equal contents are stored once under any number of names. */

const PIECE_BYTES = 2 ** 22;

/** Answer for a file: the name of its content, or why it was not stored. */
export type FileAnswer = { readonly name: string } | { readonly refused: string };

const scope = self as unknown as DedicatedWorkerGlobalScope;
const tell = (told: FileAnswer): void => scope.postMessage(told);

async function* piecesOf(blob: Blob): AsyncGenerator<Uint8Array<ArrayBuffer>> {
  for (let at = 0; at < blob.size; at += PIECE_BYTES)
    yield new Uint8Array(await blob.slice(at, at + PIECE_BYTES).arrayBuffer());
}

const written = async (blob: Blob, name: string): Promise<void> => {
  const handle = await (await receivedFolder()).getFileHandle(name, { create: true });
  const file = await handle.createSyncAccessHandle();
  try {
    file.truncate(0);
    let at = 0;
    for await (const piece of piecesOf(blob)) {
      const done = file.write(piece, { at });
      if (done < piece.length) throw new DOMException(`${done} of ${piece.length} bytes`, 'QuotaExceededError');
      at += done;
    }
    file.flush();
  } finally {
    file.close();
  }
};

const kept = async (blob: Blob): Promise<string> => {
  const hasher = await createBLAKE3();
  hasher.init();
  for await (const piece of piecesOf(blob)) hasher.update(piece);
  const name = hasher.digest('hex');
  const database = await openKeptDatabase();
  try {
    // Another page may be storing the same content.
    await navigator.locks.request(`tributary file ${name}`, async () => {
      const bytes = await database.get('files', name);
      if (bytes !== undefined && (await receivedFile(name, bytes))) return;
      await written(blob, name);
      // Written last: a file without a size here is incomplete.
      await database.put('files', blob.size, name);
    });
  } finally {
    database.close();
  }
  return name;
};

scope.onmessage = async ({ data }: MessageEvent<Blob>) => {
  try {
    tell({ name: await kept(data) });
  } catch (error) {
    tell({ refused: error instanceof DOMException ? error.name : String(error) });
  }
};
