import { realpath } from 'node:fs/promises';
import { dirname, isAbsolute, join, relative, resolve, sep } from 'node:path';
import { secondsOf, type Audio, type Sound, type StereoSound } from '../audio/audio.ts';
import { decibelsOf } from '../audio/decibels.ts';
import { samplePeakOf } from '../audio/peak-level.ts';
import { readAudioFile } from '../files/node/node-files.ts';
import { openWav } from '../files/node/node-wav-sound.ts';
import { refuseNonFinite } from '../files/wav/wav-read.ts';
import { DAMAGED_DBFS } from '../measure/measure.ts';
import { hashOfSound } from '../render/content-hash.ts';
import { keepHash, processorSounds, soundProblem, soundsAt } from '../render/plan/sources.ts';
import { keptIn } from '../render/store/kept.ts';
import type { SoundRoom } from '../render/store/room.ts';
import { parseSession } from '../session/read/parse.ts';
import { described, ProblemError } from '../session/problem.ts';
import { pathText } from '../session/read/reading-order.ts';
import type { Session } from '../session/schema.ts';
import { chainFilesOf, namedFiles, type NamedFile } from '../session/sound-files.ts';
import { readText } from './read-text.ts';

/** A session and all sound files that it names. */
interface SessionOnDisk {
  readonly session: Session;
  /** By file name in the session, each at its own rate. */
  readonly sounds: ReadonlyMap<string, Sound>;
}

/** The session file and every sound file that it names, as paths. */
export const inputPaths = (session: Session, path: string): string[] => [
  path,
  ...namedFiles(session).map(({ file }) => join(dirname(path), file)),
];

/** Reads one file that a session or a chain file names; the error for a missing file names its place and the sound. */
const readNamed = async <S extends Sound>(
  sessionPath: string,
  { file, path: place, what }: NamedFile,
  read: (path: string) => Promise<S>,
): Promise<S> => {
  const path = join(dirname(sessionPath), file);
  const audio = await read(path).catch((error: unknown) => {
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
 * Sounds that the processors of a chain file use, by file, at `sampleRate`; names are relative to the chain file's folder.
 * @throws ProblemError that names the file and its place
 */
export const readProcessorSounds = async (
  path: string,
  named: readonly NamedFile[],
  sampleRate: number,
): Promise<ReadonlyMap<string, StereoSound>> => {
  const sounds = new Map<string, Audio>();
  for (const each of named) {
    if (!sounds.has(each.file)) sounds.set(each.file, await readNamed(path, each, readAudioFile));
  }
  return processorSounds(soundsAt(sampleRate, sounds));
};

/** How a session is read. */
interface SessionReader {
  /** Store for sounds that cannot be read from their files piece by piece. */
  readonly room: SoundRoom;
  readonly onFile: (file: string, done: number) => void;
  /** Checks of a command on the session, run before any sound is read. */
  readonly check: (session: Session) => Promise<void> | void;
  /** Called with warnings. */
  readonly warn: (sentence: string) => void;
  /** The user allowed files outside of the session's own folder. */
  readonly allowOutside: boolean;
}

/** A path with links resolved; as given where it does not exist. */
const truePath = (path: string): Promise<string> => realpath(path).catch(() => resolve(path));

const isWithin = (folder: string, path: string): boolean => {
  const way = relative(folder, path);
  return way !== '..' && !way.startsWith(`..${sep}`) && !isAbsolute(way);
};

/**
 * A session from elsewhere must not read arbitrary files of this machine: its files must be below the session's own folder,
 * or below the folder in which the command is run.
 */
export const isInside = async (path: string, file: string): Promise<boolean> => {
  const folders = await Promise.all([dirname(path), process.cwd()].map(truePath));
  const found = await truePath(join(dirname(path), file));
  return folders.some((folder) => isWithin(folder, found));
};

/** @throws ProblemError naming the first file that is not inside */
const requireInside = async (session: Session, path: string): Promise<void> => {
  for (const { file, path: place, what } of namedFiles(session)) {
    if (await isInside(path, file)) continue;
    const expected =
      'a file below the folder of the session or the current one (--allow-outside, or allowOutside in a script, reads it all the same)';
    const where = `${path}: ${pathText(place)} (${what})`;
    throw new ProblemError({ code: 'mismatch', path: where, expected, found: described(file) });
  }
};

/** A sound file and its sample peak (linear): read from the file when needed where that is possible, else kept in `room`. */
const openSound = async (path: string, room: SoundRoom): Promise<{ readonly sound: Sound; readonly peak: number }> => {
  const wav = await openWav(path);
  const read = wav ?? (await readAudioFile(path));
  let peak = 0;
  const hash = hashOfSound(read, (channels, from) => {
    refuseNonFinite(channels, channels[0]!.length, from, path);
    peak = Math.max(peak, ...channels.map(samplePeakOf));
  });
  // More channels are refused.
  const sound = wav || read.channels.length > 2 ? read : keptIn(room, read);
  keepHash(sound, hash);
  return { sound, peak };
};

/**
 * Reads a session file and the sound files that it names, relative to its folder. A file named twice is read once.
 * @throws ProblemError that names the file and the field or the track
 */
export const readSessionFromDisk = async (
  path: string,
  { room, onFile, check, warn, allowOutside }: SessionReader,
): Promise<SessionOnDisk> => {
  const session = parseSession(await readText(path), path);
  if (session.tracks.length === 0) {
    const expected = 'a list of at least 1 track';
    throw new ProblemError({ code: 'out-of-range', path: `${path}: tracks`, expected, found: 'an empty list' });
  }
  await check(session);
  if (!allowOutside) await requireInside(session, path);
  const sounds = new Map<string, Sound>();
  const named = namedFiles(session);
  for (const [n, each] of named.entries()) {
    onFile(each.file, n / named.length);
    if (sounds.has(each.file)) continue;
    let peak = 0;
    const sound = await readNamed(path, each, async (file) => {
      const opened = await openSound(file, room);
      peak = opened.peak;
      return opened.sound;
    });
    if (decibelsOf(peak) > DAMAGED_DBFS)
      warn(`${each.file} is probably damaged: it has samples at ${decibelsOf(peak).toFixed(0)} dBFS.`);
    sounds.set(each.file, sound);
  }
  for (const { file } of chainFilesOf(session)) {
    const problem = soundProblem(file, secondsOf(sounds.get(file)!));
    if (problem) throw new ProblemError(problem);
  }
  return { session, sounds };
};
