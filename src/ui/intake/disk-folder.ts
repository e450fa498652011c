import { ProblemError } from '../../session/problem.ts';
import { isTakenByName, nameOf, type GivenFile } from './dropped.ts';

// File System Access (WICG draft community group report): https://wicg.github.io/file-system-access/

/** Where a session stands on the disk: the folder that its paths start from, and its file in it. */
export interface DiskPlace {
  readonly folder: FileSystemDirectoryHandle;
  /** null: it has none yet. */
  readonly file: string | null;
  /** When that file was changed last, as it was read or written here, ms since 1970. */
  readonly modified: number;
}

/** Where saving puts a session, in words. */
export const savedAt = (place: DiskPlace | null): string =>
  place ? `in the folder ${place.folder.name}${place.file === null ? '' : `, as ${place.file}`}` : 'as a file';

type Chooser = (asked: { readonly mode: 'read' }) => Promise<FileSystemDirectoryHandle>;
type Permitted = FileSystemDirectoryHandle & {
  readonly requestPermission?: (asked: { readonly mode: 'readwrite' }) => Promise<PermissionState>;
};

const chooser = (): Chooser | undefined => (window as { showDirectoryPicker?: Chooser }).showDirectoryPicker;

/** Whether the browser lets a page open a folder and write into it. */
export const canOpenFolders = (): boolean => chooser() !== undefined;

/** Asks the user for a folder; null: none was chosen. */
export const chooseFolder = async (): Promise<FileSystemDirectoryHandle | null> => {
  try {
    return await chooser()!.call(window, { mode: 'read' });
  } catch (error) {
    if (error instanceof DOMException && error.name === 'AbortError') return null;
    throw error;
  }
};

/** Sound files and sessions in and below a folder, by their paths in it; hidden ones are passed over. */
export const filesIn = async (folder: FileSystemDirectoryHandle, path = ''): Promise<GivenFile[]> => {
  const given: GivenFile[] = [];
  for await (const [name, entry] of folder.entries()) {
    if (name.startsWith('.')) continue;
    if (entry.kind === 'directory') given.push(...(await filesIn(entry, `${path}${name}/`)));
    else if (isTakenByName(name)) given.push({ path: `${path}${name}`, file: await entry.getFile() });
  }
  return given.sort((a, b) => a.path.localeCompare(b.path, 'en', { numeric: true }));
};

const folderAt = async (
  root: FileSystemDirectoryHandle,
  path: string,
  create = false,
): Promise<FileSystemDirectoryHandle> => {
  let folder = root;
  for (const name of path.split('/').slice(0, -1)) folder = await folder.getDirectoryHandle(name, { create });
  return folder;
};

/** The place of a session that was found at this path in a folder. */
export const placeOf = async (root: FileSystemDirectoryHandle, { path, file }: GivenFile): Promise<DiskPlace> => ({
  ...{ folder: await folderAt(root, path), file: nameOf(path), modified: file.lastModified },
});

/** The file at this path; null: there is none. */
const fileAt = async (folder: FileSystemDirectoryHandle, path: string): Promise<File | null> => {
  try {
    return await (await (await folderAt(folder, path)).getFileHandle(nameOf(path))).getFile();
  } catch (error) {
    if (error instanceof DOMException && error.name === 'NotFoundError') return null;
    throw error;
  }
};

// The browser writes beside the file, and puts it in its place when all is there.
const write = async (folder: FileSystemDirectoryHandle, path: string, data: Blob): Promise<File> => {
  const handle = await (await folderAt(folder, path, true)).getFileHandle(nameOf(path), { create: true });
  await data.stream().pipeTo(await handle.createWritable());
  return handle.getFile();
};

const requirePermission = async (folder: Permitted): Promise<void> => {
  // The browser's private folders need none.
  const state = (await folder.requestPermission?.({ mode: 'readwrite' })) ?? 'granted';
  if (state !== 'granted')
    throw new ProblemError({
      ...{ code: 'unwritable', path: folder.name, found: 'one that may only be read' },
      expected: 'a folder that this page may write into (allow it, or save to a file)',
    });
};

const freeName = async (folder: FileSystemDirectoryHandle, stem: string): Promise<string> => {
  for (let n = 1; ; n++) {
    const name = n === 1 ? `${stem}.json` : `${stem}-${n}.json`;
    if ((await fileAt(folder, name)) === null) return name;
  }
};

/**
 * Writes a session into its folder, and those of its files beside it that do not stand there yet.
 *
 * @param stem what its file is called where it has none, without the ending
 * @param files by the path that the session calls them
 * @returns where it stands now
 * @throws ProblemError where the folder may not be written, or what stands there is not what was read
 */
export const saveInFolder = async (
  place: DiskPlace,
  stem: string,
  text: string,
  files: ReadonlyMap<string, Blob>,
): Promise<DiskPlace> => {
  const { folder } = place;
  await requirePermission(folder);
  const file = place.file ?? (await freeName(folder, stem));
  const there = await fileAt(folder, file);
  if (there && there.lastModified !== place.modified) {
    const expected = 'the session as it was read (save to a file, or open the folder again)';
    const found = 'one that another program changed';
    throw new ProblemError({ code: 'unwritable', path: `${folder.name}/${file}`, expected, found });
  }
  for (const [path, blob] of files) {
    const old = await fileAt(folder, path);
    if (old === null) await write(folder, path, blob);
    else if (old.size !== blob.size) {
      const expected = `the file of ${blob.size} bytes that the session was made with`;
      const found = `another of ${old.size} bytes`;
      throw new ProblemError({ code: 'mismatch', path: `${folder.name}/${path}`, expected, found });
    }
  }
  const { lastModified } = await write(folder, file, new Blob([text], { type: 'application/json' }));
  return { folder, file, modified: lastModified };
};
