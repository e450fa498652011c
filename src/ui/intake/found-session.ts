import { isAnswersText } from '../../files/notes/approval-answers.ts';
import { parseJson, parseSession } from '../../session/read/parse.ts';
import { ProblemError } from '../../session/problem.ts';
import { SESSION_FORMAT, type Session } from '../../session/schema.ts';
import { messageOf } from '../../engine/message.ts';
import { matchFiles, type GivenFile } from './dropped.ts';
import { allFilesOf } from '../../engine/files-of-session.ts';

/** A session among what was given, with those of its files that were given too. */
export interface FoundSession {
  readonly session: Session;
  readonly files: Map<string, File>;
  /** The path by which it came. */
  readonly path: string;
}

/** The session to open, null when none is sound, and a sentence for each file that is left aside. */
export interface Found {
  readonly found: FoundSession | null;
  readonly aside: readonly string[];
}

const readSession = (text: string, path: string): Session => {
  const json = parseJson(text, path);
  const isOther = typeof json !== 'object' || json === null || !('format' in json) || json.format !== SESSION_FORMAT;
  const found = isAnswersText(text) ? 'answers of an approval page: import them under Client notes' : 'other JSON';
  if (isOther) throw new ProblemError({ code: 'mismatch', path, expected: 'a session', found });
  return parseSession(text, path);
};

/** Of the given JSON files the session that has most of its files beside it; the first of such. */
export const findSession = async (jsons: readonly GivenFile[], audio: readonly GivenFile[]): Promise<Found> => {
  const sound: FoundSession[] = [];
  const aside: string[] = [];
  for (const { path, file } of jsons) {
    try {
      const session = readSession(await file.text(), path);
      sound.push({ path, session, files: matchFiles(allFilesOf(session), audio) });
    } catch (error) {
      aside.push(messageOf(error));
    }
  }
  const most = Math.max(...sound.map(({ files }) => files.size));
  const found = sound.find(({ files }) => files.size === most) ?? null;
  const others = sound.filter((other) => other !== found);
  return { found, aside: [...aside, ...others.map(({ path }) => `${path} is another session: open it by itself.`)] };
};
