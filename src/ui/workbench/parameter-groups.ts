import type { Parameter, Parameters } from '../../dsp/core/parameter.ts';

/** Parameters that are drawn together. */
export interface ParameterGroup {
  /** '' for those of no group. */
  readonly name: string;
  readonly parameters: readonly (readonly [id: string, parameter: Parameter])[];
}

/** The parameters of a processor by group, in the order of its definition; those of no group come first. */
export const groupsOf = (parameters: Parameters): ParameterGroup[] => {
  const groups = new Map<string, (readonly [string, Parameter])[]>([['', []]]);
  for (const [id, parameter] of Object.entries(parameters)) {
    const name = parameter.group ?? '';
    groups.set(name, [...(groups.get(name) ?? []), [id, parameter]]);
  }
  return [...groups].filter(([, list]) => list.length > 0).map(([name, list]) => ({ name, parameters: list }));
};

const NUMBERED = /^(.+) (\d+)$/;

/** The word that the numbered groups share, such as "Band", where they come first and are several; else null. */
export const sharedWord = (names: readonly string[]): string | null => {
  const words = names.map((name) => NUMBERED.exec(name)?.[1] ?? null);
  const [first = null] = words;
  const numbered = words.filter((word) => word !== null);
  const comeFirst = words.slice(0, numbered.length).every((word) => word === first);
  return numbered.length > 1 && comeFirst ? first : null;
};
