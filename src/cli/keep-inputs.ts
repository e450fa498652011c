import { realpath } from 'node:fs/promises';
import { resolve } from 'node:path';
import { ProblemError } from '../session/problem.ts';

/** A path as the file system knows it; one that is not there yet as it is written. */
const trueFile = (path: string): Promise<string> => realpath(path).catch(() => resolve(path));

/**
 * Asks before anything is written that no output stands in the place of an input.
 * @throws ProblemError naming the first output that would write over a file that is read
 */
export const keepInputs = async (outputs: readonly string[], inputs: readonly string[]): Promise<void> => {
  const read = new Set(await Promise.all(inputs.map(trueFile)));
  for (const path of outputs) {
    if (!read.has(await trueFile(path))) continue;
    const expected = 'another place than that of a file which is read';
    throw new ProblemError({ code: 'unwritable', path, expected, found: 'one of them' });
  }
};
