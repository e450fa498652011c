/** A file with the path by which it came: with its folders when a folder was dropped. */
export interface GivenFile {
  readonly path: string;
  readonly file: File;
}

const AUDIO_ENDINGS = ['wav', 'wave', 'aif', 'aiff', 'aifc', 'caf', 'flac', 'mp3', 'ogg', 'oga', 'opus'];

/** What the file choosers offer. */
export const AUDIO_ACCEPT = [...AUDIO_ENDINGS, 'zip'].map((ending) => `.${ending}`).join(',');

const endingOf = (path: string): string => /\.([^./]+)$/.exec(path)?.[1]?.toLowerCase() ?? '';

/** Whether a file of this name is sound or a session. */
export const isTakenByName = (path: string): boolean => [...AUDIO_ENDINGS, 'json'].includes(endingOf(path));

export const isZip = (path: string): boolean => endingOf(path) === 'zip';

export const nameOf = (path: string): string => path.slice(path.lastIndexOf('/') + 1);

const isHidden = (path: string): boolean => nameOf(path).startsWith('.');

/** What was given, told apart by the ends of the names; what is neither is `other`. Hidden files are passed over. */
export const sortGiven = (all: readonly GivenFile[]) => {
  const given = all.filter(({ path }) => !isHidden(path));
  return {
    sessions: given.filter(({ path }) => endingOf(path) === 'json'),
    audio: given.filter(({ path }) => AUDIO_ENDINGS.includes(endingOf(path))),
    other: given.filter(({ path }) => !isTakenByName(path)),
  };
};

/**
 * The given files by the paths that a session calls them, found by the end of the path: first where all of it agrees,
 * then by the name alone. What is not found is left out.
 */
export const matchFiles = (wanted: readonly string[], given: readonly GivenFile[]): Map<string, File> => {
  const found = new Map<string, File>();
  for (const path of wanted) {
    const match =
      given.find((one) => one.path === path || one.path.endsWith(`/${path}`)) ??
      given.find((one) => nameOf(one.path) === nameOf(path));
    if (match) found.set(path, match.file);
  }
  return found;
};

/** A path of its own for a new file: its name, with a number before the ending when the name is taken. */
export const freePath = (name: string, taken: ReadonlySet<string>): string => {
  const plain = nameOf(name.replaceAll('\\', '/')) || 'audio.wav';
  const [, stem = plain, ending = ''] = /^(.*?)(\.[^.]*)?$/.exec(plain) ?? [];
  for (let n = 1; ; n++) {
    const path = n === 1 ? plain : `${stem}-${n}${ending}`;
    if (!taken.has(path)) return path;
  }
};

const readFolder = (folder: FileSystemDirectoryEntry): Promise<FileSystemEntry[]> => {
  const reader = folder.createReader();
  const more = async (entries: FileSystemEntry[]): Promise<FileSystemEntry[]> => {
    // The reader hands out a folder in parts; an empty part is the end.
    const part = await new Promise<FileSystemEntry[]>((resolve, reject) => reader.readEntries(resolve, reject));
    return part.length === 0 ? entries : more([...entries, ...part]);
  };
  return more([]);
};

const filesUnder = async (entry: FileSystemEntry): Promise<GivenFile[]> => {
  if (entry.isDirectory) {
    const inside = await readFolder(entry as FileSystemDirectoryEntry);
    return (await Promise.all(inside.map(filesUnder))).flat();
  }
  const file = await new Promise<File>((resolve, reject) => (entry as FileSystemFileEntry).file(resolve, reject));
  return [{ path: entry.fullPath.replace(/^\//, ''), file }];
};

/** All files of a drop, those in dropped folders too. */
export const filesOfDrop = async (transfer: DataTransfer): Promise<GivenFile[]> => {
  // Entries must be taken before the first wait: after it the browser empties the transfer.
  const entries = [...transfer.items].map((item) => item.webkitGetAsEntry()).filter((entry) => entry !== null);
  if (entries.length === 0) return [...transfer.files].map((file) => ({ path: file.name, file }));
  return (await Promise.all(entries.map(filesUnder))).flat();
};
