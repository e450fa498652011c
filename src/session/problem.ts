/** What can be wrong with something that a user gave us. The wording for each code stands in `sentenceOf`. */
export type ProblemCode =
  | 'unreadable'
  | 'unwritable'
  | 'missing-file'
  | 'unknown-field'
  | 'missing-field'
  | 'wrong-type'
  | 'out-of-range'
  | 'unknown-version'
  | 'unknown-processor'
  | 'unknown-parameter'
  | 'unknown-name'
  | 'missing-target'
  | 'duplicate-id'
  | 'cycle'
  | 'too-short'
  | 'mismatch';

/** One thing that is wrong, as data: the command line prints it, the screen marks the control at `path`. */
export interface Problem {
  readonly code: ProblemCode;
  /** Where: a file name, or a place in a session such as `buses[2].sends[0].to`. */
  readonly path: string;
  /** What would have been right, and so what to do. */
  readonly expected: string;
  /** What was there. */
  readonly found: string;
}

type Wording = (path: string, expected: string, found: string) => string;

const mustBe: Wording = (path, expected, found) => `${path} must be ${expected}, not ${found}`;

const WORDING: Readonly<Record<ProblemCode, Wording>> = {
  unreadable: (path, expected, found) => `${path} cannot be read: expected ${expected}, found ${found}`,
  unwritable: (path, expected, found) => `${path} cannot be written: expected ${expected}, found ${found}`,
  'missing-file': (path, expected, found) => `${path} is missing: expected ${expected}, found ${found}`,
  'unknown-field': (path, expected) => `${path} is not a field that is known here: expected ${expected}`,
  'missing-field': (path, expected) => `${path} is missing: expected ${expected}`,
  'wrong-type': mustBe,
  'out-of-range': mustBe,
  'unknown-version': (path, expected, found) => `${path} is ${found}, but this program reads ${expected}`,
  'unknown-processor': mustBe,
  'unknown-parameter': (path, expected) => `${path} is not a setting of this processor: expected ${expected}`,
  'unknown-name': mustBe,
  'missing-target': (path, expected, found) => `${path} must name ${expected}, not ${found}`,
  'duplicate-id': mustBe,
  cycle: (path, expected, found) => `${path} leads sound back to where it came from (${found}): expected ${expected}`,
  'too-short': (path, expected, found) => `${path} is too short: expected ${expected}, found ${found}`,
  mismatch: (path, expected, found) => `${path} does not fit: expected ${expected}, found ${found}`,
};

/** The one sentence that a user reads. */
export const sentenceOf = ({ code, path, expected, found }: Problem): string =>
  `${WORDING[code](path, expected, found)}.`;

/** The problem, told of the file in which it stands: the place in the session follows the file's name. */
export const inFile = (fileName: string, problem: Problem): Problem => ({
  ...problem,
  path: problem.path === '' ? fileName : `${fileName}: ${problem.path}`,
});

/** Thrown where a problem ends the work at hand; the message is the one sentence. */
export class ProblemError extends Error {
  constructor(readonly problem: Problem) {
    super(sentenceOf(problem));
    this.name = 'ProblemError';
  }
}

/** `value` as a sentence names it: text in quotes, cut when long; lists and objects by kind only. */
export const described = (value: unknown): string => {
  if (typeof value === 'string') return JSON.stringify(value.length > 40 ? `${value.slice(0, 39)}…` : value);
  if (value === undefined) return 'nothing';
  if (Array.isArray(value)) return value.length === 0 ? 'an empty list' : 'a list';
  if (typeof value === 'object' && value !== null) return 'an object';
  return `${value as number | boolean | null}`;
};

/** Names or parts of a sentence in a row: `a, b and c`. */
export const inARow = (parts: readonly string[]): string =>
  parts.length < 2 ? parts.join('') : `${parts.slice(0, -1).join(', ')} and ${parts.at(-1)}`;

/** Values as a sentence lists them: `"a", "b" or "c"`. */
export const listed = (values: readonly unknown[]): string => {
  const all = values.map(described);
  if (all.length < 2) return all.join('');
  return `${all.slice(0, -1).join(', ')} or ${all.at(-1)}`;
};
