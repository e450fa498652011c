import { secondsOf, type Sound } from '../../audio/audio.ts';
import { gapProblem } from '../../render/plan/silence-before.ts';
import { soundProblem } from '../../render/plan/sources.ts';
import { sentenceOf } from '../../session/problem.ts';
import type { Session } from '../../session/schema.ts';
import { chainFilesOf } from '../../session/sound-files.ts';
import { filesOf } from '../files-of-session.ts';
import type { Song } from '../song.ts';
import type { SoundLibrary } from '../sound-library.ts';

/** Files that the session's mix names and that are not open. */
export const missingFiles = (library: SoundLibrary, session: Session): string[] =>
  filesOf(session).filter((file) => !library.has(file));

/** Open sounds that processors of the session name, by file. */
export const chainSounds = (library: SoundLibrary, session: Session): ReadonlyMap<string, Sound> => {
  const sounds = chainFilesOf(session).map(({ file }) => [file, library.at(file, session.sampleRate)] as const);
  return new Map(sounds.flatMap(([file, sound]) => (sound ? [[file, sound]] : [])));
};

/** Why the session cannot be rendered, in one sentence: a processor's sound is unusable, or a file begins too late. null: it can. */
export const refusalOf = (library: SoundLibrary, song: Song, session: Session): string | null => {
  const unfit = [...chainSounds(library, session)]
    .map(([file, sound]) => soundProblem(file, secondsOf(sound)))
    .find((found) => found !== null);
  const problem = unfit ?? gapProblem(session, song.planned(session).sources);
  return problem && sentenceOf(problem);
};
