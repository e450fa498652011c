import { isSameLine, type PreparedLine } from './line.ts';
import type { Values } from './parameter.ts';

/** Lines that the mix of a step follows. */
export interface MixLines {
  /** Share of the processed sound, 0..1. */
  readonly wet?: PreparedLine;
  /** 1: the step is bypassed, and only the dry sound is heard, with the latency of the processed one. */
  readonly bypass?: PreparedLine;
}

/** Lines that a processor follows: of its mix, and of its parameters by their ids. */
export interface StepLines extends MixLines {
  readonly parameters?: Readonly<Record<string, PreparedLine>>;
}

const namesOf = ({ parameters = {} }: StepLines): string[] => Object.keys(parameters);

/** Whether two steps follow the same lines. */
export const areSameStepLines = (a: StepLines = {}, b: StepLines = {}): boolean =>
  isSameLine(a.wet, b.wet) &&
  isSameLine(a.bypass, b.bypass) &&
  namesOf(a).length === namesOf(b).length &&
  namesOf(a).every((id) => isSameLine(a.parameters![id], b.parameters?.[id]));

/** All values that a processor may have at some time: its settings, and with each of its lines at each of its points. */
export const valuesHeld = ({ values, lines }: { readonly values: Values; readonly lines?: StepLines }): Values[] => [
  values,
  ...Object.entries(lines?.parameters ?? {}).flatMap(([id, line]) =>
    [...new Set(line.values)].map((value) => ({ ...values, [id]: value })),
  ),
];

/** Whether a line moves the mix of a step. */
export const hasMixLine = ({ lines }: { readonly lines?: MixLines }): boolean =>
  lines?.wet !== undefined || lines?.bypass !== undefined;
