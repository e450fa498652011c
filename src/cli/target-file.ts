import { z } from 'zod';
import type { BlendLimits } from '../blend/solve/solution.ts';
import { checkedTarget, targetFigure, type Target, type Wanted } from '../blend/solve/solve-target.ts';
import { parseJson } from '../session/read/parse.ts';
import { inFile, ProblemError } from '../session/problem.ts';
import { readShape } from '../session/read/shape.ts';
import { readText } from './read-text.ts';

const range = z.tuple([z.number(), z.number()]);

const fileSchema = z.strictObject({
  /** By figure: a value, its least and greatest value (null: none), or "max" or "min". */
  targets: z.record(
    z.string(),
    z.union([z.number(), z.tuple([z.number().nullable(), z.number().nullable()]), z.literal('max'), z.literal('min')]),
  ),
  /** By bus: lowest and highest blend, dB. */
  limits: z.record(z.string(), range).default({}),
});

type Asked = z.output<typeof fileSchema>['targets'][string];

const wantedOf = (asked: Asked): Wanted => {
  if (asked === 'max' || asked === 'min') return asked;
  if (typeof asked === 'number') return { low: asked, high: asked };
  const [low, high] = asked;
  return { low: low ?? -Infinity, high: high ?? Infinity };
};

/** Targets and limits of a file. @throws ProblemError that names the file and the place */
export const readTargetFile = async (
  path: string,
): Promise<{ targets: readonly Target[]; limits: ReadonlyMap<string, BlendLimits> }> => {
  const { value, problems } = readShape(fileSchema, parseJson(await readText(path), path));
  if (problems) throw new ProblemError(inFile(path, problems[0]));
  const targets = Object.entries(value.targets).map(([name, asked]) => {
    const place = `${path}: targets.${name}`;
    return checkedTarget(targetFigure(name, place), wantedOf(asked), place);
  });
  if (targets.length === 0) {
    const expected = 'at least one target';
    throw new ProblemError({ code: 'out-of-range', path: `${path}: targets`, expected, found: 'none' });
  }
  return { targets, limits: new Map(Object.entries(value.limits).map(([id, [low, high]]) => [id, { low, high }])) };
};
