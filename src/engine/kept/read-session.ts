import type { History } from '../../session/history.ts';
import { parseJson, parseSession } from '../../session/read/parse.ts';
import { ProblemError } from '../../session/problem.ts';
import type { Session } from '../../session/schema.ts';
import { sessionText } from '../../session/read/serialize.ts';
import { changed, type Change } from '../worker/changes.ts';
import { stepsOf, type KeptDatabase, type KeptRecord, type KeptStep } from './kept-database.ts';

/** A kept session that was read. */
export interface ReadSession {
  readonly record: KeptRecord;
  readonly history: History;
  /** The stored steps of the history; null where the session was migrated to a newer version of the format and must be written anew. */
  readonly steps: readonly KeptStep[] | null;
}

type Step = History['past'][number];

const missing = (title: string): ProblemError =>
  new ProblemError({
    code: 'missing-file',
    path: title,
    expected: 'a session that is kept on this device',
    found: 'none (it was deleted in another tab, or the browser has cleared its storage)',
  });

/** Applies steps from the document on, as long as they exist and `read` accepts the result. */
const followed = (
  document: unknown,
  steps: readonly KeptStep[],
  changes: ReadonlyMap<number, Change | null>,
  read: (json: unknown) => Session,
): Step[] => {
  const states: Step[] = [];
  let json = document;
  for (const { number, label } of steps) {
    const change = changes.get(number);
    if (change === undefined) break;
    if (change) json = changed(json, change);
    try {
      states.push({ session: read(json), label });
    } catch {
      // Old steps that this version cannot read are dropped from the history; the session itself is read above.
      break;
    }
  }
  return states;
};

/**
 * Reads a session with its history. A session of an earlier version of the format is migrated, and so are its steps.
 * @throws ProblemError where it is missing, or cannot be read
 */
export const readSession = async (database: KeptDatabase, id: string): Promise<ReadSession> => {
  const transaction = database.transaction(['sessions', 'documents', 'steps'], 'readonly');
  const steps = transaction.objectStore('steps');
  const [record, text, numbers, values] = await Promise.all([
    transaction.objectStore('sessions').get(id),
    transaction.objectStore('documents').get(id),
    steps.getAllKeys(stepsOf(id)),
    steps.getAll(stepsOf(id)),
    transaction.done,
  ]);
  if (!record || text === undefined) throw missing(record?.title ?? 'The session');
  const changes = new Map(numbers.map(([, number], n) => [number, values[n]!] as const));
  const present = parseSession(text, record.title);
  // Where the document is in this version's format, so are its steps; parts that they do not change stay the same objects.
  const isOfThisVersion = sessionText(present) === text;
  const document = isOfThisVersion ? present : parseJson(text, record.title);
  const read = (json: unknown): Session =>
    isOfThisVersion ? (json as Session) : parseSession(JSON.stringify(json), record.title);
  const past = followed(document, record.past.toReversed(), changes, read).toReversed();
  const future = followed(document, record.future, changes, read);
  const isWhole = past.length === record.past.length && future.length === record.future.length;
  return {
    record,
    history: { present, past, future, gesture: null },
    steps: isOfThisVersion && isWhole ? [...record.past, ...record.future] : null,
  };
};
