import { realpath } from 'node:fs/promises';
import { resolve } from 'node:path';
import { ProblemError } from '../session/problem.ts';

/** A path with links resolved; as given where it does not exist. */
const trueFile = (path: string): Promise<string> => realpath(path).catch(() => resolve(path));

/**
 * Checks, before anything is written, that no output would replace an input.
 * @throws ProblemError naming the first output that would replace a file that is read
 */
export const keepInputs = async (outputs: readonly string[], inputs: readonly string[]): Promise<void> => {
  const read = new Set(await Promise.all(inputs.map(trueFile)));
  for (const path of outputs) {
    if (!read.has(await trueFile(path))) continue;
    const expected = 'a file that is not one of the inputs';
    throw new ProblemError({ code: 'unwritable', path, expected, found: 'an input' });
  }
};
