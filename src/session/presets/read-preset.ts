import type { z } from 'zod';
import { busSetSchema, type BusSet, type SetBus } from '../bus-sets/bus-set.ts';
import { checkChain } from '../chain/check-chain.ts';
import { chainFromVersion1 } from '../migrations/from-version-1.ts';
import { migrated } from '../migrations/migrate.ts';
import { headerProblem } from '../read/parse.ts';
import { PRESET_VERSION, presetSchema, type Preset } from './preset.ts';
import { described, inFile, ProblemError } from '../problem.ts';
import { inReadingOrder, type Fault, type JsonPath } from '../read/reading-order.ts';
import { chainSchema, type ChainItems } from '../schema.ts';
import { readShape } from '../read/shape.ts';

/**
 * The value that a JSON value stands for by `schema`, once `faultsOf` finds nothing wrong with it.
 * @throws ProblemError for the first thing that is wrong; its path starts with the file's name
 */
const checkedFrom = <S extends z.ZodType>(
  schema: S,
  json: unknown,
  fileName: string,
  faultsOf: (value: z.output<S>) => Fault[],
): z.output<S> => {
  const { value, problems } = readShape(schema, json);
  const [first] = problems ?? inReadingOrder(json, faultsOf(value));
  if (first) throw new ProblemError(inFile(fileName, first));
  return value!;
};

/** A preset of any version in the current one. @throws ProblemError where it is none */
const currentPreset = (given: unknown, fileName: string): unknown => {
  const json = migrated(given);
  const header = headerProblem(json, 'tributary-preset', PRESET_VERSION);
  if (header) throw new ProblemError(inFile(fileName, header));
  return json;
};

/**
 * The preset that a JSON value stands for.
 * @throws ProblemError for the first thing that is wrong; its path starts with the file's name
 */
export const presetFrom = (json: unknown, fileName: string): Preset => {
  return checkedFrom(presetSchema, currentPreset(json, fileName), fileName, ({ chain }) =>
    checkChain(chain, ['chain']),
  );
};

/**
 * The bus set that a JSON value stands for; `presetNames` are the chain presets that it may name.
 * @throws ProblemError as `presetFrom` does
 */
export const busSetFrom = (json: unknown, fileName: string, presetNames: readonly string[]): BusSet => {
  return checkedFrom(busSetSchema, currentPreset(json, fileName), fileName, ({ buses }) =>
    buses.flatMap((bus, n) => busFaults(bus, n, buses, presetNames)),
  );
};

const busFaults = (bus: SetBus, n: number, buses: readonly SetBus[], presetNames: readonly string[]): Fault[] => {
  const path = ['buses', n];
  const later = buses.slice(n + 1).map(({ name }) => name);
  const isFed = bus.feeds.length > 0 || buses.some(({ sends }) => sends.some(({ to }) => to === bus.name));
  const fault = (code: Fault['code'], field: JsonPath, expected: string, found: string): Fault[] => [
    { code, path: [...path, ...field], expected, found },
  ];
  return [
    ...(later.includes(bus.name) ? fault('duplicate-id', ['name'], 'a name of its own', described(bus.name)) : []),
    ...(typeof bus.chain !== 'string'
      ? checkChain(bus.chain, [...path, 'chain'])
      : presetNames.includes(bus.chain)
        ? []
        : fault('unknown-name', ['chain'], 'the name of a chain preset', described(bus.chain))),
    ...(isFed ? [] : fault('mismatch', ['feeds'], 'a role, or another bus that sends to it', 'neither')),
    ...bus.sends.flatMap(({ to }, s) =>
      later.includes(to)
        ? []
        : fault('missing-target', ['sends', s, 'to'], 'a bus further down in the set', described(to)),
    ),
  ];
};

/**
 * The chain that a JSON value stands for: a preset's, or a bare list of chain items.
 * @throws ProblemError as `presetFrom` does
 */
export const chainFrom = (json: unknown, fileName: string): ChainItems => {
  if (!Array.isArray(json)) return presetFrom(json, fileName).chain;
  // A bare list says no version: names of any version are taken.
  return checkedFrom(chainSchema, chainFromVersion1(json), fileName, (chain) => checkChain(chain, []));
};
