import { STRETCH_BYTES, type Disk } from '../../render/store/stretch-store.ts';

/** Folder of the browser's storage for this address in which each engine has a file of its own. */
const FOLDER = 'sound';

/** Lock held by an engine until it ends: files without a holder are left over. */
const lockOf = (name: string): string => `tributary sound ${name}`;

/** Takes a lock until this thread ends. */
const hold = (lock: string): Promise<void> =>
  new Promise((resolve, reject) => {
    const held = (): Promise<never> => {
      resolve();
      return new Promise(() => {});
    };
    navigator.locks.request(lock, held).catch(reject);
  });

/** Removes the files of engines that have ended. */
const removeStale = async (folder: FileSystemDirectoryHandle): Promise<void> => {
  const names: string[] = [];
  for await (const name of folder.keys()) names.push(name);
  // An engine takes its lock before it creates its file.
  const { held = [] } = await navigator.locks.query();
  const alive = new Set(held.map(({ name }) => name));
  // A file may be removed by another engine meanwhile.
  for (const name of names) if (!alive.has(lockOf(name))) await folder.removeEntry(name).catch(() => undefined);
};

/** A disk in the browser's storage for this address. */
export interface BrowserDisk extends Disk {
  /** Frees its storage; it is neither read nor written any more. */
  close(): void;
}

/**
 * Opens a file in the browser's storage (the origin private file system, WHATWG File System Standard), which only workers can read and
 * write synchronously. Files of engines that ended without closing theirs are removed.
 * @throws the browser's error where it has no such storage for this address
 */
export const openBrowserDisk = async (): Promise<BrowserDisk> => {
  const folder = await (await navigator.storage.getDirectory()).getDirectoryHandle(FOLDER, { create: true });
  const name = crypto.randomUUID();
  await hold(lockOf(name));
  await removeStale(folder);
  const file = await (await folder.getFileHandle(name, { create: true })).createSyncAccessHandle();
  const whole = (done: number, bytes: Uint8Array): void => {
    if (done < bytes.length) throw new Error(`${done} of ${bytes.length} bytes`);
  };
  return {
    write: (place, bytes) => whole(file.write(bytes, { at: place * STRETCH_BYTES }), bytes),
    read: (place, bytes, at) => whole(file.read(bytes, { at: place * STRETCH_BYTES + at }), bytes),
    close: () => {
      file.truncate(0);
      file.close();
    },
  };
};
