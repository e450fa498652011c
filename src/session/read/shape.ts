import { z } from 'zod';
import { described, listed, type Problem, type ProblemCode } from '../problem.ts';
import { inReadingOrder, type Fault, type JsonPath } from './reading-order.ts';

/** What `readShape` gives: the value with its defaults, or all that is wrong with its shape, in reading order. */
export type Shaped<T> =
  | { readonly value: T; readonly problems: null }
  | { readonly value: null; readonly problems: readonly [Problem, ...Problem[]] };

type Issue = z.core.$ZodIssue;

const KINDS: Readonly<Record<string, string>> = {
  string: 'a text',
  number: 'a number',
  int: 'a whole number',
  boolean: 'true or false',
  array: 'a list',
  tuple: 'a list',
  object: 'an object',
  record: 'an object',
};
const kind = (name: string): string => KINDS[name] ?? name;

/** The parts of a schema that its wrappers (defaults, null allowed, conversions) do not change. */
const bare = (schema: z.core.$ZodType): z.core.$ZodType => {
  const def = schema._zod.def as { innerType?: z.core.$ZodType; in?: z.core.$ZodType };
  const inner = def.innerType ?? def.in;
  return inner ? bare(inner) : schema;
};

interface Parts {
  readonly options?: readonly z.core.$ZodType[];
  readonly shape?: Readonly<Record<string, z.core.$ZodType>>;
  readonly element?: z.core.$ZodType;
  readonly items?: readonly z.core.$ZodType[];
}

/** The schema of what stands at `path`; null where the schema says nothing of it. */
const schemaAt = (schema: z.core.$ZodType, path: JsonPath): z.core.$ZodType | null => {
  const here = bare(schema);
  const [key, ...rest] = path;
  if (key === undefined) return here;
  const { options, shape, element, items } = here._zod.def as Parts;
  if (options) return options.map((option) => schemaAt(option, path)).find((found) => found !== null) ?? null;
  const next = typeof key === 'number' ? (element ?? items?.[key]) : shape?.[key];
  return next ? schemaAt(next, rest) : null;
};

const fieldsOf = (schema: z.core.$ZodType): string[] => Object.keys((bare(schema)._zod.def as Parts).shape ?? {});

/** Of several kinds of object the one that has most fields of what was given is what was meant; null: none is. */
const optionMeant = (schema: z.core.$ZodType | null, input: unknown): number | null => {
  const { options = [] } = (schema?._zod.def ?? {}) as Parts;
  if (typeof input !== 'object' || input === null || Array.isArray(input)) return null;
  const given = Object.keys(input);
  // A field that must be there tells more than one that may be.
  const weight = (field: z.core.$ZodType): number => (field._zod.optin === undefined ? 2 : 1);
  const shared = options.map((option) => {
    const shape = Object.entries((bare(option)._zod.def as Parts).shape ?? {});
    return shape.reduce((sum, [name, field]) => sum + (given.includes(name) ? weight(field) : 0), 0);
  });
  const n = shared.indexOf(Math.max(...shared));
  return options[n] && fieldsOf(options[n]).length > 0 ? n : null;
};

/** The fields that the object `input` at `path` may have. */
const fieldsAt = (schema: z.core.$ZodType, path: JsonPath, input: unknown): string[] => {
  const here = schemaAt(schema, path);
  if (!here) return [];
  const { options = [] } = here._zod.def as Parts;
  return fieldsOf(options[optionMeant(here, input) ?? -1] ?? here);
};

/** "between -90 and 24", "at least 1 item", "a text of at most 80 characters". */
const sizeExpected = (schema: z.core.$ZodType, issue: Issue & { code: 'too_small' | 'too_big' }): string => {
  const bound = issue.code === 'too_small' ? issue.minimum : issue.maximum;
  const most = issue.code === 'too_small' ? 'at least' : 'at most';
  if (issue.origin === 'string') {
    return bound === 1 ? 'a text that is not empty' : `a text of ${most} ${bound} characters`;
  }
  if (issue.origin === 'array') return `a list of ${most} ${bound} ${bound === 1 ? 'item' : 'items'}`;
  const number = schemaAt(schema, issue.path as JsonPath);
  const { minValue, maxValue } = number instanceof z.ZodNumber ? number : { minValue: null, maxValue: null };
  const both = Number.isFinite(minValue) && Number.isFinite(maxValue);
  return both ? `between ${minValue} and ${maxValue}` : `${most} ${bound}`;
};

const found = (issue: Issue): string => {
  const input: unknown = issue.input;
  if (Array.isArray(input) && (issue.code === 'too_small' || issue.code === 'too_big')) return `${input.length}`;
  return described(input);
};

/** What is wrong with an object that is none of several kinds, as one of the kind that was meant. */
const faultsAsMeant = (schema: z.core.$ZodType, issue: Issue & { code: 'invalid_union' }): Fault[] | null => {
  const path = issue.path as JsonPath;
  const union = schemaAt(schema, path);
  const n = optionMeant(union, issue.input);
  if (n === null) return null;
  const option = (union!._zod.def as Parts).options![n]!;
  return issue.errors[n]!.flatMap((inner) => faultsOf(option, inner)).map((fault) => ({
    ...fault,
    path: [...path, ...fault.path],
  }));
};

const faultsOf = (schema: z.core.$ZodType, issue: Issue): Fault[] => {
  const path = issue.path as JsonPath;
  const fault = (code: ProblemCode, expected: string): Fault[] => {
    const missing = issue.input === undefined && path.length > 0;
    return [{ code: missing ? 'missing-field' : code, path, expected, found: found(issue) }];
  };
  switch (issue.code) {
    case 'invalid_type':
      return fault('wrong-type', kind(issue.expected));
    case 'too_small':
    case 'too_big':
      return fault('out-of-range', sizeExpected(schema, issue));
    case 'invalid_value':
      return fault(typeof issue.input === 'string' ? 'unknown-name' : 'wrong-type', listed(issue.values));
    case 'invalid_union': {
      const meant = faultsAsMeant(schema, issue);
      if (meant) return meant;
      const kinds = issue.errors.flatMap(([first]) => (first?.code === 'invalid_type' ? kind(first.expected) : []));
      return fault('wrong-type', [...new Set(kinds)].join(' or '));
    }
    case 'unrecognized_keys': {
      const expected = listed(fieldsAt(schema, path, issue.input));
      const object = issue.input as Readonly<Record<string, unknown>>;
      return issue.keys.map((key) => {
        return { code: 'unknown-field', path: [...path, key], expected, found: described(object[key]) };
      });
    }
    default:
      return fault('wrong-type', issue.message);
  }
};

/** Reads `json`, which stands at the path `at`, by `schema`. */
export const readShape = <S extends z.ZodType>(schema: S, json: unknown, at: JsonPath = []): Shaped<z.output<S>> => {
  const result = schema.safeParse(json, { reportInput: true });
  if (result.success) return { value: result.data, problems: null };
  const faults = result.error.issues.flatMap((issue) => faultsOf(schema, issue));
  return { value: null, problems: inReadingOrder(json, faults, at) as [Problem, ...Problem[]] };
};
