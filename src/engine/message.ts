import { ProblemError } from '../session/problem.ts';

/** An error whose message was written for a reader; all others come out of the language or the browser. */
const isPlain = (error: unknown): error is Error =>
  error instanceof ProblemError || (error instanceof Error && error.constructor === Error);

/**
 * The error's own sentence where it was written for a reader, else `otherwise`; the error itself is then logged to the
 * console for debugging.
 */
export const plainSentence = (error: unknown, otherwise: string): string => {
  if (isPlain(error)) return error.message;
  console.error(error);
  return otherwise;
};

/** The error in one sentence for the user. */
export const messageOf = (error: unknown): string => {
  if (error instanceof ProblemError) return error.message;
  const text = plainSentence(error, 'there is a fault in the app; undo the last change, or open the session again');
  return `This could not be done: ${text.replace(/\s+/g, ' ').replace(/\.?$/, '.')}`;
};
