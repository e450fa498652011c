import type { History } from '../../session/history.ts';
import { parseJson, parseSession } from '../../session/read/parse.ts';
import { ProblemError } from '../../session/problem.ts';
import type { Session } from '../../session/schema.ts';
import { sessionText } from '../../session/read/serialize.ts';
import { changed, type Change } from '../worker/changes.ts';
import { stepsOf, type KeptDatabase, type KeptRecord, type KeptStep } from './kept-database.ts';

/** A kept session as it is opened. */
export interface ReadSession {
  readonly record: KeptRecord;
  readonly history: History;
  /** The steps of the history as they lie on the disk; null where it was brought to a newer version of the format, and is to be written anew. */
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

/** Follows steps away from the document, as far as all of them are there and `read` takes what they lead to. */
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
      // What this version does not read of old steps can be undone no more; the session itself is read above.
      break;
    }
  }
  return states;
};

/**
 * Reads a session with its history. One that an earlier version of the format wrote is brought to this one, and so are its steps.
 * @throws ProblemError where it is not there, or cannot be read
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
  // Where it stands as this version writes it, so do its steps, and what they leave alone stays the same objects.
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
