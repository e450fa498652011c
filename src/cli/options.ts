import { described, listed, ProblemError } from '../session/problem.ts';

const NUMBER = /^[+-]?(?:\d+\.?\d*|\.\d+)$/;

/** Reads the number after an option, from `min` to `max`; `unit` as in "dB". Throws ProblemError. */
export const numberOption =
  (option: string, unit: string, min: number, max: number) =>
  (text: string): number => {
    const value = NUMBER.test(text.trim()) ? Number(text) : NaN;
    if (value >= min && value <= max) return value;
    const code = Number.isNaN(value) ? 'wrong-type' : 'out-of-range';
    const expected = `a number between ${min} and ${max} ${unit}`;
    throw new ProblemError({ code, path: option, expected, found: described(text) });
  };

/** Reads the whole number after an option. Throws ProblemError. */
export const wholeOption =
  (option: string, unit: string, min: number, max: number) =>
  (text: string): number => {
    const value = numberOption(option, unit, min, max)(text);
    if (Number.isInteger(value)) return value;
    throw new ProblemError({ code: 'wrong-type', path: option, expected: 'a whole number', found: described(text) });
  };

/** Reads the name after an option: one of `names`, or an older name for one (`aliases`). Throws ProblemError. */
export const nameOption =
  <T extends string>(option: string, names: readonly T[], aliases: ReadonlyMap<string, T> = new Map()) =>
  (text: string): T => {
    const given = text.trim().toLowerCase();
    const name = names.find((each) => each === given) ?? aliases.get(given);
    if (name !== undefined) return name;
    throw new ProblemError({ code: 'unknown-name', path: option, expected: listed(names), found: described(text) });
  };

/** Reads names with commas between them, each as `nameOption` does. Throws ProblemError. */
export const namesOption =
  <T extends string>(option: string, names: readonly T[], aliases?: ReadonlyMap<string, T>) =>
  (text: string): T[] => [...new Set(text.split(',').map(nameOption(option, names, aliases)))];
