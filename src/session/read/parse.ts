import { checkSession } from '../check.ts';
import { jsonFault } from './json-fault.ts';
import { described, inFile, ProblemError, type Problem } from '../problem.ts';
import { migrated } from '../migrations/migrate.ts';
import { SESSION_FORMAT, SESSION_VERSION, sessionSchema, type Session } from '../schema.ts';
import { readShape, type Shaped } from './shape.ts';

/**
 * The value that a JSON text stands for.
 * @throws ProblemError that names the file, the line and the column, and what stood there
 */
export const parseJson = (text: string, fileName: string): unknown => {
  const plain = text.replace(/^\uFEFF/, '');
  try {
    return JSON.parse(plain) as unknown;
  } catch {
    const fault = jsonFault(plain);
    const place = fault ? `${fault.found} at line ${fault.line}, column ${fault.column}` : 'something else';
    const found = plain.trim() === '' ? 'an empty file' : place;
    throw new ProblemError({ code: 'unreadable', path: fileName, expected: 'JSON', found });
  }
};

/** What must be right before the rest of a document means anything; null when it is, or when `json` is no object. */
export const headerProblem = (json: unknown, format: string, version: number): Problem | null => {
  if (typeof json !== 'object' || json === null || Array.isArray(json)) return null;
  const header = json as { format?: unknown; version?: unknown };
  if (header.format !== format) {
    const code = header.format === undefined ? 'missing-field' : 'mismatch';
    return { code, path: 'format', expected: described(format), found: described(header.format) };
  }
  if (header.version !== version) {
    const code = header.version === undefined ? 'missing-field' : 'unknown-version';
    return { code, path: 'version', expected: `version ${version}`, found: described(header.version) };
  }
  return null;
};

const readSession = (given: unknown): Shaped<Session> => {
  const json = migrated(given);
  const header = headerProblem(json, SESSION_FORMAT, SESSION_VERSION);
  if (header) return { value: null, problems: [header] };
  const shaped = readShape(sessionSchema, json);
  if (!shaped.value) return shaped;
  const [first, ...rest] = checkSession(shaped.value);
  return first ? { value: null, problems: [first, ...rest] } : shaped;
};

/** All that is wrong with what should be a session, in reading order; empty when it is one. */
export const problemsOf = (json: unknown): readonly Problem[] => readSession(json).problems ?? [];

/**
 * The session in a file's text, with its defaults filled in.
 * @throws ProblemError for the first thing that is wrong, in reading order; its path starts with the file's name
 */
export const parseSession = (text: string, fileName: string): Session => {
  const { value, problems } = readSession(parseJson(text, fileName));
  if (problems) throw new ProblemError(inFile(fileName, problems[0]));
  return value;
};
