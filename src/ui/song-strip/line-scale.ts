import type { Parameter } from '../../dsp/core/parameter.ts';
import type { LineTarget, LineValue } from '../../session/lines/line-schema.ts';
import { CLOSED_DB } from '../../session/schema.ts';
import { placeOf, stepValue, valueAt } from '../workbench/parameter-scale.ts';

/** How the values of a line stand on the strip: 0 at its lower edge, 1 at its upper one. */
export interface LineScale {
  place(value: LineValue): number;
  /** The value at a place, as it is shown. */
  value(place: number): LineValue;
  /** One step of the keyboard, or a large one. */
  step(value: LineValue, direction: 1 | -1, isLarge: boolean): LineValue;
}

/** Levels at the lower and upper edge, dB; at the lower edge they are closed. */
const LOW = -60;
const HIGH = 12;
const within = (place: number): number => Math.min(1, Math.max(0, place));

const LEVELS: LineScale = {
  place: (value) => within((Number(value) - LOW) / (HIGH - LOW)),
  value: (place) => (place <= 0 ? CLOSED_DB : Math.round(2 * (LOW + within(place) * (HIGH - LOW))) / 2),
  step: (value, direction, isLarge) => Number(value) + direction * (isLarge ? 3 : 0.5),
};

/** Choices in a row, the first lowest; a switch is two of them. Away from the edges, where a line across would be cut in half. */
const EDGE = 0.12;

const choices = (values: readonly LineValue[]): LineScale => {
  const last = Math.max(1, values.length - 1);
  const clamped = (n: number): LineValue => values[Math.min(values.length - 1, Math.max(0, n))]!;
  return {
    place: (value) => EDGE + (values.indexOf(value) / last) * (1 - 2 * EDGE),
    value: (place) => clamped(Math.round(((place - EDGE) / (1 - 2 * EDGE)) * last)),
    step: (value, direction) => clamped(values.indexOf(value) + direction),
  };
};

/** How the line of a target is drawn and moved. */
export const lineScale = ({ what }: LineTarget, parameter: Parameter): LineScale => {
  if (what === 'level' || what === 'send') return LEVELS;
  if (parameter.kind === 'switch') {
    // A path is up where it is on, and a processor where it is in the way of the sound.
    return choices(what === 'bypass' ? [true, false] : [false, true]);
  }
  if (parameter.kind === 'choice') return choices(parameter.choices);
  return {
    place: (value) => placeOf(parameter, Number(value)),
    value: (place) => valueAt(parameter, place),
    step: (value, direction, isLarge) => stepValue(parameter, Number(value), direction, isLarge ? 'large' : 'plain'),
  };
};
