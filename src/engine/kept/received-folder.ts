/** Folder of the browser's storage for this address in which received files are kept, each under the name of its content. */
const FOLDER = 'received';

export const receivedFolder = async (): Promise<FileSystemDirectoryHandle> =>
  (await navigator.storage.getDirectory()).getDirectoryHandle(FOLDER, { create: true });

/** A kept file; null where it is missing or incomplete. */
export const receivedFile = async (name: string, bytes: number): Promise<File | null> => {
  try {
    const file = await (await (await receivedFolder()).getFileHandle(name)).getFile();
    return file.size === bytes ? file : null;
  } catch {
    return null;
  }
};
