import { ProblemError } from '../../session/problem.ts';
import type { Outcome } from './protocol.ts';

const isAbort = (error: unknown): error is DOMException => error instanceof DOMException && error.name === 'AbortError';

/** Runs a call and returns its result or error as plain data; `faultOf` gives the sentence for errors other than ProblemErrors. */
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

/** The result of an outcome; throws its error again. */
export const doneOf = <T>(outcome: Outcome<T>): T => {
  if ('done' in outcome) return outcome.done;
  if ('problem' in outcome) throw new ProblemError(outcome.problem);
  if ('overtaken' in outcome) throw new DOMException(outcome.overtaken, 'AbortError');
  throw new Error(outcome.fault);
};
