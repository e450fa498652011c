import type { Problem } from '../problem.ts';

/** Where something stands in a JSON document, as keys and list places from the top. */
export type JsonPath = readonly (string | number)[];

/** `["buses", 2, "sends", 0, "to"]` as `buses[2].sends[0].to`; keys that are not plain words stand in brackets. */
export const pathText = (path: JsonPath): string =>
  path
    .map((key, n) => {
      if (typeof key === 'number') return `[${key}]`;
      if (!/^[A-Za-z_][\w-]*$/.test(key)) return `[${JSON.stringify(key)}]`;
      return n === 0 ? key : `.${key}`;
    })
    .join('');

/** Place of each step of `path` among its neighbours in `json`; what is missing stands at the end. */
const placesOf = (json: unknown, path: JsonPath): number[] => {
  let value = json;
  return path.map((key) => {
    if (typeof value !== 'object' || value === null || !Object.hasOwn(value, key)) return Infinity;
    const place = typeof key === 'number' ? key : Object.keys(value).indexOf(key);
    value = (value as Record<string | number, unknown>)[key];
    return place;
  });
};

/** A problem whose place is not yet written out. */
export interface Fault extends Omit<Problem, 'path'> {
  readonly path: JsonPath;
}

const compare = (a: readonly number[], b: readonly number[]): number => {
  const differing = a.findIndex((place, n) => place !== b[n]);
  if (differing === -1) return a.length - b.length;
  return a[differing]! - (b[differing] ?? -1);
};

/** Problems in the order in which a reader of the document `json` meets them; `json` itself stands at `at`. */
export const inReadingOrder = (json: unknown, faults: readonly Fault[], at: JsonPath = []): Problem[] =>
  faults
    .map((fault) => ({ fault, places: placesOf(json, fault.path) }))
    .sort((a, b) => compare(a.places, b.places))
    .map(({ fault }) => ({ ...fault, path: pathText([...at, ...fault.path]) }));
