import { z } from 'zod';
import { headerProblem } from './read/parse.ts';
import { described, inFile, listed, ProblemError, type Problem } from './problem.ts';
import { GUARDS, guardSchema, type Guard, type GuardLimit } from './schema.ts';
import { readShape } from './read/shape.ts';

/** A set of limits with where each comes from; one for every guard. */
const guardSetSchema = z.strictObject({
  format: z.literal('tributary-guards'),
  version: z.literal(2),
  kind: z.literal('guards'),
  /** What kind of work it suits, in a word or two. */
  name: z.string().min(1).max(60),
  purpose: z.string().min(1).max(300),
  guards: z.array(guardSchema.extend({ source: z.string().min(1).max(200) })).max(GUARDS.length),
});

export type GuardSet = z.output<typeof guardSetSchema>;

/**
 * The guard set that a JSON value stands for.
 * @throws ProblemError for the first thing that is wrong; its path starts with the file's name
 */
export const guardSetFrom = (json: unknown, fileName: string): GuardSet => {
  const header: Problem | null = headerProblem(json, 'tributary-guards', 2);
  if (header) throw new ProblemError(inFile(fileName, header));
  const { value, problems } = readShape(guardSetSchema, json);
  if (problems) throw new ProblemError(inFile(fileName, problems[0]));
  const names = value.guards.map(({ guard }) => guard);
  const wrong = GUARDS.find((guard) => names.filter((name) => name === guard).length !== 1);
  if (wrong === undefined) return value;
  const found = names.includes(wrong) ? 'two' : 'none';
  throw new ProblemError({
    code: 'mismatch',
    path: `${fileName}: guards`,
    expected: `one limit for "${wrong}"`,
    found,
  });
};

// Adding a set is adding a file. One that is wrong ends the program at once, so no test run can miss it.
const files = import.meta.glob<unknown>('../../presets/guards/*.json', { eager: true, import: 'default' });

export const DEFAULT_SET = 'default';

/** All guard sets, the default one first. */
export const guardSets: readonly GuardSet[] = Object.entries(files)
  .map(([path, json]) => guardSetFrom(json, path.replace('../../', '')))
  .sort((a, b) => Number(b.name === DEFAULT_SET) - Number(a.name === DEFAULT_SET) || (a.name < b.name ? -1 : 1));

/** The set of this name. @throws ProblemError naming `place` and the sets that there are */
export const guardSetByName = (name: string, place: string): GuardSet => {
  const set = guardSets.find((each) => each.name === name.trim().toLowerCase());
  if (set) return set;
  const expected = listed(guardSets.map((each) => each.name));
  throw new ProblemError({ code: 'unknown-name', path: place, expected, found: described(name) });
};

/** One limit in force, and where it comes from. */
export interface GuardInForce extends GuardLimit {
  readonly source: string;
}

/** The limits in force, in the order of GUARDS: those of `set`, with the session's own in their place. */
export const guardsInForce = (own: readonly GuardLimit[], set: GuardSet): readonly GuardInForce[] =>
  GUARDS.map((guard: Guard) => {
    const changed = own.find((each) => each.guard === guard);
    if (changed) return { ...changed, source: 'set in the session' };
    return set.guards.find((each) => each.guard === guard)!;
  });
