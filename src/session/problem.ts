/** What can be wrong with something that a user gave us. The wording for each code stands in `sentenceOf`. */
export type ProblemCode =
  | 'unreadable'
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

/** The one sentence that a user reads. */
export const sentenceOf = ({ path, expected, found }: Problem): string => `${path}: expected ${expected}, found ${found}.`;

/** Thrown where a problem ends the work at hand; the message is the one sentence. */
export class ProblemError extends Error {
  constructor(readonly problem: Problem) {
    super(sentenceOf(problem));
    this.name = 'ProblemError';
  }
}
