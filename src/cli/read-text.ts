import { readFileBytes } from '../files/node/node-files.ts';

/** The text of a file (UTF-8). Throws ProblemError if it is missing or cannot be read. */
export const readText = async (path: string): Promise<string> => new TextDecoder().decode(await readFileBytes(path));
