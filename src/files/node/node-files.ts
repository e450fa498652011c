import { createReadStream, type Stats } from 'node:fs';
import { access, constants, mkdir, readdir, readFile, rename, rm, stat, writeFile } from 'node:fs/promises';
import { basename, dirname, isAbsolute, join, relative, resolve } from 'node:path';
import type { Audio } from '../../audio/audio.ts';
import { ProblemError } from '../../session/problem.ts';
import { decodeAudioFile } from '../decode/decode.ts';
import { digestOf, type BytePieces } from '../bytes/sha256.ts';

/** A file to write: its path relative to the folder, and its content. */
export interface NewFile {
  readonly name: string;
  /** Can be iterated more than once. */
  readonly content: Uint8Array | string | BytePieces;
}

/** System error codes in words for the user. */
const REASONS: Readonly<Record<string, string>> = {
  EACCES: 'one that may not be opened',
  EPERM: 'one that may not be changed',
  EISDIR: 'a folder',
  ENOTDIR: 'a file where a folder should be',
  EEXIST: 'a file where a folder should be',
  ENOSPC: 'no space left on the disk',
  EROFS: 'a disk that cannot be written to',
  ENAMETOOLONG: 'a name that is too long',
  ERR_INVALID_ARG_VALUE: 'a name that no file can have',
  ELOOP: 'links that lead back to each other',
  EIO: 'one that the system cannot read or write',
  ENXIO: 'a device that is not there',
  EBUSY: 'one that is in use',
  EMFILE: 'too many files open at once',
  ENFILE: 'too many files open at once',
  EDQUOT: 'no space left on the disk',
  EFBIG: 'one that is larger than the disk allows',
  ENOENT: 'a folder that is not there, or that takes no files',
  EXDEV: 'another disk',
  ERR_FS_FILE_TOO_LARGE: 'one that is larger',
};

const codeOf = (error: unknown): string =>
  error instanceof Error && 'code' in error && typeof error.code === 'string' ? error.code : '';

/** A system error in words for the user. */
export const reasonOf = (error: unknown): string =>
  REASONS[codeOf(error)] ??
  (codeOf(error) ? 'something that the system refuses' : error instanceof Error ? error.message : String(error));

/** What kind of thing a path is. */
const KINDS: readonly (readonly [(stats: Stats) => boolean, string])[] = [
  [(stats) => stats.isFile(), 'a file'],
  [(stats) => stats.isDirectory(), 'a folder'],
  [(stats) => stats.isFIFO(), 'a pipe'],
  [(stats) => stats.isSocket(), 'a socket'],
  [(stats) => stats.isBlockDevice() || stats.isCharacterDevice(), 'a device'],
];

const kindOf = (stats: Stats): string => KINDS.find(([is]) => is(stats))?.[1] ?? 'something else';

/**
 * Checks before opening that a path is a regular file: a pipe or a device may never end.
 * @throws ProblemError if it is missing or is anything else
 */
export async function requireRegular(path: string): Promise<void> {
  const stats = await stat(path).catch((error: unknown) => {
    throw readingProblem(path, error);
  });
  if (stats.isFile()) return;
  throw new ProblemError({ code: 'unreadable', path, expected: 'a file', found: kindOf(stats) });
}

/**
 * Reads the bytes of a file.
 *
 * @param path as the user gave it; messages call the file so
 * @throws ProblemError if it is missing, is no regular file, or cannot be read
 */
export async function readFileBytes(path: string): Promise<Uint8Array> {
  await requireRegular(path);
  try {
    return await readFile(path);
  } catch (error) {
    throw readingProblem(path, error);
  }
}

/** The error for a failure to read the file at `path`. */
export function readingProblem(path: string, error: unknown): ProblemError {
  if (codeOf(error) === 'ENOENT') {
    return new ProblemError({ code: 'missing-file', path, expected: 'a file', found: 'nothing there' });
  }
  const expected = codeOf(error) === 'ERR_FS_FILE_TOO_LARGE' ? 'a file under 2 GB' : 'a file';
  return new ProblemError({ code: 'unreadable', path, expected, found: reasonOf(error) });
}

/**
 * Reads and decodes an audio file, see `decodeAudioFile`.
 *
 * @param path as the user gave it; messages call the file so
 * @throws ProblemError if it is missing, cannot be read, or is not a supported audio file
 */
export const readAudioFile = async (path: string): Promise<Audio> => decodeAudioFile(await readFileBytes(path), path);

type Undo = () => Promise<unknown>;

/**
 * Makes a folder and the ones above it; undoing removes those that were not there. One by one, as the recursive form
 * of Node runs for ever where the system denies a folder with ENOENT, as /proc does.
 */
async function makeFolder(folder: string, undo: Undo[]): Promise<void> {
  const absent: string[] = [];
  for (let at = resolve(folder); !(await stat(at).catch(() => undefined)); at = dirname(at)) absent.unshift(at);
  if (absent.length === 0) {
    // Something is there: if it is no folder, this says so.
    await mkdir(folder, { recursive: true });
  }
  for (const at of absent) {
    await mkdir(at);
    undo.push(() => rm(at, { recursive: true }));
  }
}

const unwritable = (path: string, error: unknown): ProblemError =>
  new ProblemError({ code: 'unwritable', path, expected: 'a place that can be written to', found: reasonOf(error) });

/**
 * Checks before long work that a folder is writable, or can be made.
 *
 * @throws ProblemError if it or a parent is a file, or is not writable
 */
export async function requireWritable(folder: string): Promise<void> {
  let at = resolve(folder);
  while (!(await stat(at).catch(() => undefined))) at = dirname(at);
  try {
    const stats = await stat(at);
    if (!stats.isDirectory()) {
      const expected = at === resolve(folder) ? 'a folder' : `a folder at ${at}`;
      throw new ProblemError({ code: 'unwritable', path: folder, expected, found: kindOf(stats) });
    }
    await access(at, constants.W_OK);
  } catch (error) {
    throw error instanceof ProblemError ? error : unwritable(folder, error);
  }
}

/** Moves `from` to `target`; undoing restores the file that was there. */
async function putInPlace(from: string, target: string, aside: string, undo: Undo[]): Promise<void> {
  const old = await stat(target).catch(() => undefined);
  if (old && !old.isFile()) throw new Error(kindOf(old));
  if (old) {
    await rename(target, aside);
    undo.push(() => rename(aside, target));
  }
  await rename(from, target);
  undo.push(() => rm(target));
}

const piecesOf = (content: NewFile['content']): BytePieces => {
  if (typeof content === 'string') return [new TextEncoder().encode(content)];
  return content instanceof Uint8Array ? [content] : content;
};

/** Reads a file back from the disk. @throws Error unless it is what was written */
async function requireAsWritten(path: string, content: NewFile['content']): Promise<void> {
  const [wanted, found] = [await digestOf(piecesOf(content)), await digestOf(createReadStream(path))];
  if (wanted.sha256 !== found.sha256) throw Object.assign(new Error(path), { code: 'EIO' });
}

/**
 * Writes all of `files` below `folder`, or none: each goes to a temporary name first and is read back from the disk, and
 * only when all are written are they renamed. If anything fails, new files are removed and replaced ones restored.
 *
 * @param folder made if it is not there
 * @throws ProblemError naming the file that could not be written
 */
export async function writeFilesWhole(folder: string, files: readonly NewFile[]): Promise<void> {
  const mark = markOf(process.pid, Date.now());
  const stop = new StopSignals();
  const undo: Undo[] = [];
  const asides: string[] = [];
  let at = folder;
  try {
    await makeFolder(folder, undo);
    for (const { name, content } of files) {
      at = join(folder, name);
      refuseOutside(folder, name);
      await makeFolder(dirname(at), undo);
      await removeStale(dirname(at));
      const temporary = `${at}.${mark}.part`;
      undo.push(() => rm(temporary, { force: true }));
      await writeFile(temporary, content, { flag: 'wx', signal: stop.signal });
      await requireAsWritten(temporary, content);
    }
    for (const { name } of files) {
      stop.signal.throwIfAborted();
      at = join(folder, name);
      asides.push(`${at}.${mark}.old`);
      await putInPlace(`${at}.${mark}.part`, at, `${at}.${mark}.old`, undo);
    }
  } catch (error) {
    for (const step of undo.reverse()) await step().catch(() => undefined);
    stop.end();
    if (error instanceof ProblemError) throw error;
    throw unwritable(at, error);
  }
  for (const aside of asides) await rm(aside, { force: true }).catch(() => undefined);
  stop.end();
}

/** Digits of the time in a temporary name: milliseconds since 1970 in base 36, until the year 2059. */
const TIME_SIGNS = 8;

const markOf = (pid: number, time: number): string => `${pid.toString(36)}${time.toString(36)}`;

const LEFT_OVER = /^(.+)\.([0-9a-z]{9,16})\.(part|old)$/;

const isRunning = (pid: number): boolean => {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return codeOf(error) === 'EPERM';
  }
};

/** Removes files that a killed run left in a folder, and restores those that it had moved aside. */
async function removeStale(folder: string): Promise<void> {
  for (const entry of await readdir(folder)) {
    const [, name, mark, kind] = LEFT_OVER.exec(entry) ?? [];
    if (name === undefined || isRunning(parseInt(mark!.slice(0, -TIME_SIGNS), 36))) continue;
    const isWanted = kind === 'old' && !(await stat(join(folder, name)).catch(() => undefined));
    await (isWanted ? rename(join(folder, entry), join(folder, name)) : rm(join(folder, entry), { force: true }));
  }
}

/** Delays SIGINT (Ctrl-C) and SIGTERM until unfinished files are removed; then the process ends by the signal it received. */
class StopSignals {
  private readonly abort = new AbortController();
  private received: NodeJS.Signals | null = null;
  private readonly hear = (signal: NodeJS.Signals): void => {
    this.received = signal;
    this.abort.abort(new Error(`stopped by ${signal}`));
  };

  constructor() {
    for (const signal of ['SIGINT', 'SIGTERM'] as const) process.on(signal, this.hear);
  }

  get signal(): AbortSignal {
    return this.abort.signal;
  }

  /** To be called once all files are written or removed: ends the process if a signal came. */
  end(): void {
    for (const signal of ['SIGINT', 'SIGTERM'] as const) process.off(signal, this.hear);
    if (this.received) process.kill(process.pid, this.received);
  }
}

/**
 * Checks before long work that none of `names` exists below `folder`.
 * @throws ProblemError naming the first existing one
 */
export async function requireNew(folder: string, names: readonly string[], wayOut: string): Promise<void> {
  for (const name of names) {
    const path = join(folder, name);
    if (!(await stat(path).catch(() => undefined))) continue;
    const expected = `a place without an earlier ${basename(path)} (${wayOut})`;
    throw new ProblemError({ code: 'unwritable', path, expected, found: 'one that is there already' });
  }
}

/** Checks that a name from a session does not lead out of the folder that the user chose. */
function refuseOutside(folder: string, name: string): void {
  const way = relative(folder, join(folder, name));
  if (way !== '' && !way.startsWith('..') && !isAbsolute(way)) return;
  const expected = `a file name inside ${folder}`;
  throw new ProblemError({ code: 'out-of-range', path: name, expected, found: 'one that leads elsewhere' });
}
