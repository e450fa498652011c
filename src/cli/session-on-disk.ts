import { dirname, join } from 'node:path';
import type { Audio } from '../dsp/audio.ts';
import { readAudioFile } from '../files/node-files.ts';
import { parseSession } from '../session/parse.ts';
import { ProblemError } from '../session/problem.ts';
import type { Session } from '../session/schema.ts';
import { readText } from './read-text.ts';

/** A session and all sound that it names. */
export interface SessionOnDisk {
  readonly session: Session;
  /** By track id, each at its file's own rate. */
  readonly sounds: ReadonlyMap<string, Audio>;
  readonly rough: Audio | null;
}

/** A place in the session that names a sound file, and what a user calls that sound. */
interface NamedFile {
  readonly file: string;
  readonly place: string;
  readonly what: string;
}

const namedFiles = ({ tracks, rough }: Session): NamedFile[] => [
  ...tracks.map(({ name, file }, n) => ({ file, place: `tracks[${n}].file`, what: `track "${name}"` })),
  ...(rough ? [{ file: rough.file, place: 'rough.file', what: 'the rough mix' }] : []),
];

/** The session file and every sound file that it names, as paths. */
export const inputPaths = (session: Session, path: string): string[] => [
  path,
  ...namedFiles(session).map(({ file }) => join(dirname(path), file)),
];

/** Reads one file that a session names; what is missing is told by the session's place and the sound's name. */
const readNamed = async (sessionPath: string, { file, place, what }: NamedFile): Promise<Audio> => {
  const path = join(dirname(sessionPath), file);
  const audio = await readAudioFile(path).catch((error: unknown) => {
    if (!(error instanceof ProblemError)) throw error;
    const { problem } = error;
    throw new ProblemError(
      problem.code === 'missing-file'
        ? { ...problem, path: `${sessionPath}: ${place} (${what})`, expected: `a file at ${path}` }
        : { ...problem, path: `${problem.path} (${what})` },
    );
  });
  if (audio.channels.length <= 2) return audio;
  const found = String(audio.channels.length);
  throw new ProblemError({ code: 'mismatch', path: `${path} (${what})`, expected: 'one or two channels', found });
};

/**
 * Reads a session file and the sound files that it names, relative to where it stands. A file named twice is read once.
 * @throws ProblemError that names the file and the field or the track
 */
export const readSessionFromDisk = async (
  path: string,
  onFile: (file: string, done: number) => void,
): Promise<SessionOnDisk> => {
  const session = parseSession(await readText(path), path);
  if (session.tracks.length === 0) {
    const expected = 'a list of at least 1 track';
    throw new ProblemError({ code: 'out-of-range', path: `${path}: tracks`, expected, found: 'an empty list' });
  }
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
  };
};
