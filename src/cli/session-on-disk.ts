import { dirname, join } from 'node:path';
import type { Audio, StereoSound } from '../audio/audio.ts';
import { readAudioFile } from '../files/node-files.ts';
import { processorSounds, soundsAt } from '../render/sources.ts';
import { parseSession } from '../session/parse.ts';
import { ProblemError } from '../session/problem.ts';
import { pathText } from '../session/reading-order.ts';
import type { Session } from '../session/schema.ts';
import { chainFilesOf, namedFiles, type NamedFile } from '../session/sound-files.ts';
import { readText } from './read-text.ts';

/** A session and all sound that it names. */
export interface SessionOnDisk {
  readonly session: Session;
  /** By track id, each at its file's own rate. */
  readonly sounds: ReadonlyMap<string, Audio>;
  readonly rough: Audio | null;
  /** What processors work with, by file, at the session's rate. */
  readonly chainSounds: ReadonlyMap<string, StereoSound>;
}

/** The session file and every sound file that it names, as paths. */
export const inputPaths = (session: Session, path: string): string[] => [
  path,
  ...namedFiles(session).map(({ file }) => join(dirname(path), file)),
];

/** Reads one file that a session or a chain file names; what is missing is told by its place and the sound's name. */
const readNamed = async (sessionPath: string, { file, path: place, what }: NamedFile): Promise<Audio> => {
  const path = join(dirname(sessionPath), file);
  const audio = await readAudioFile(path).catch((error: unknown) => {
    if (!(error instanceof ProblemError)) throw error;
    const { problem } = error;
    throw new ProblemError(
      problem.code === 'missing-file'
        ? { ...problem, path: `${sessionPath}: ${pathText(place)} (${what})`, expected: `a file at ${path}` }
        : { ...problem, path: `${problem.path} (${what})` },
    );
  });
  if (audio.channels.length <= 2) return audio;
  const found = String(audio.channels.length);
  throw new ProblemError({ code: 'mismatch', path: `${path} (${what})`, expected: 'one or two channels', found });
};

/**
 * Sounds that the processors of a chain file or session work with, by file, at `sampleRate`, relative to where the file
 * `path` stands. One of `known`, at its own rate, is not read again.
 * @throws ProblemError that names the file and its place
 */
export const readProcessorSounds = async (
  path: string,
  named: readonly NamedFile[],
  sampleRate: number,
  known: ReadonlyMap<string, Audio> = new Map(),
): Promise<ReadonlyMap<string, StereoSound>> => {
  const sounds = new Map<string, Audio>();
  for (const each of named) {
    if (!sounds.has(each.file)) sounds.set(each.file, known.get(each.file) ?? (await readNamed(path, each)));
  }
  return processorSounds(soundsAt(sampleRate, sounds));
};

/**
 * Reads a session file and the sound files that it names, relative to where it stands. A file named twice is read once.
 * @param check what a command asks of the session; it may refuse before any sound is read
 * @throws ProblemError that names the file and the field or the track
 */
export const readSessionFromDisk = async (
  path: string,
  onFile: (file: string, done: number) => void,
  check: (session: Session) => Promise<void> | void,
): Promise<SessionOnDisk> => {
  const session = parseSession(await readText(path), path);
  if (session.tracks.length === 0) {
    const expected = 'a list of at least 1 track';
    throw new ProblemError({ code: 'out-of-range', path: `${path}: tracks`, expected, found: 'an empty list' });
  }
  await check(session);
  const byFile = new Map<string, Audio>();
  const named = namedFiles(session);
  for (const [n, each] of named.entries()) {
    onFile(each.file, n / named.length);
    if (!byFile.has(each.file)) byFile.set(each.file, await readNamed(path, each));
  }
  return {
    session,
    sounds: new Map(session.tracks.map(({ id, file }) => [id, byFile.get(file)!])),
    rough: session.rough && byFile.get(session.rough.file)!,
    chainSounds: await readProcessorSounds(path, chainFilesOf(session), session.sampleRate, byFile),
  };
};
