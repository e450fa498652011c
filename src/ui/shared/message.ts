import { ProblemError } from '../../session/problem.ts';

/** What went wrong, in one sentence, without the machinery around it. */
export const messageOf = (error: unknown): string => {
  if (error instanceof ProblemError) return error.message;
  const text = error instanceof Error ? error.message : String(error);
  return `This could not be done: ${text.replace(/\s+/g, ' ').replace(/\.?$/, '.')}`;
};
