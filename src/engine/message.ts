import { ProblemError } from '../session/problem.ts';

/** An error whose message was written for a reader; all others come out of the language or the browser. */
const isPlain = (error: unknown): error is Error =>
  error instanceof ProblemError || (error instanceof Error && error.constructor === Error);

/**
 * The error's own sentence where it was written for a reader, else `otherwise`: the error itself is then told to the
 * console, where a fault of the app is looked for.
 */
export const plainSentence = (error: unknown, otherwise: string): string => {
  if (isPlain(error)) return error.message;
  console.error(error);
  return otherwise;
};

/** What went wrong, in one sentence, without the machinery around it. */
export const messageOf = (error: unknown): string => {
  if (error instanceof ProblemError) return error.message;
  const text = plainSentence(error, 'there is a fault in the app; undo the last change, or open the session again');
  return `This could not be done: ${text.replace(/\s+/g, ' ').replace(/\.?$/, '.')}`;
};
