import { ProblemError } from '../../session/problem.ts';
import type { Outcome } from './protocol.ts';

const isAbort = (error: unknown): error is DOMException => error instanceof DOMException && error.name === 'AbortError';

/** Runs a call whose errors are to cross: what a reader is to be told of others than ProblemErrors, `faultOf` says. */
export const outcomeOf = async <T>(
  work: () => Promise<T>,
  faultOf: (error: unknown) => string,
): Promise<Outcome<T>> => {
  try {
    return { done: await work() };
  } catch (error) {
    if (error instanceof ProblemError) return { problem: error.problem };
    if (isAbort(error)) return { overtaken: error.message };
    return { fault: faultOf(error) };
  }
};

/** What was done; throws what went wrong, as it was thrown. */
export const doneOf = <T>(outcome: Outcome<T>): T => {
  if ('done' in outcome) return outcome.done;
  if ('problem' in outcome) throw new ProblemError(outcome.problem);
  if ('overtaken' in outcome) throw new DOMException(outcome.overtaken, 'AbortError');
  throw new Error(outcome.fault);
};
