import { checkChain } from './check-chain.ts';
import { headerProblem } from './parse.ts';
import { presetSchema, type Preset } from './preset.ts';
import { inFile, ProblemError, type Problem } from './problem.ts';
import { inReadingOrder, type Fault } from './reading-order.ts';
import { chainSchema, type ChainItems } from './schema.ts';
import { readShape, type Shaped } from './shape.ts';

const orThrow = <T>({ value, problems }: Shaped<T>, fileName: string): T => {
  if (problems) throw new ProblemError(inFile(fileName, problems[0]));
  return value;
};

const afterChecks = <T>(json: unknown, shaped: Shaped<T>, faultsOf: (value: T) => Fault[]): Shaped<T> => {
  if (shaped.problems) return shaped;
  const [first, ...rest] = inReadingOrder(json, faultsOf(shaped.value));
  return first ? { value: null, problems: [first, ...rest] } : shaped;
};

/**
 * The preset that a JSON value stands for.
 * @throws ProblemError for the first thing that is wrong; its path starts with the file's name
 */
export const presetFrom = (json: unknown, fileName: string): Preset => {
  const header: Problem | null = headerProblem(json, 'tributary-preset', 1);
  if (header) throw new ProblemError(inFile(fileName, header));
  const shaped = readShape(presetSchema, json);
  return orThrow(
    afterChecks(json, shaped, ({ chain }) => checkChain(chain, ['chain'])),
    fileName,
  );
};

/**
 * The chain that a JSON value stands for: a preset's, or a bare list of chain items.
 * @throws ProblemError as `presetFrom` does
 */
export const chainFrom = (json: unknown, fileName: string): ChainItems => {
  if (!Array.isArray(json)) return presetFrom(json, fileName).chain;
  const shaped = readShape(chainSchema, json);
  return orThrow(
    afterChecks(json, shaped, (chain) => checkChain(chain, [])),
    fileName,
  );
};
