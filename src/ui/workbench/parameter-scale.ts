import type { NumberParameter } from '../../dsp/core/parameter.ts';

type Scaled = Pick<NumberParameter, 'min' | 'max' | 'scale' | 'digits'>;

/** A value within the parameter's range, to the digits that are shown. */
export const settled = ({ min, max, digits }: Scaled, value: number): number =>
  Math.min(max, Math.max(min, Number(value.toFixed(digits))));

/** Where a value stands along the control, 0 to 1. */
export const placeOf = ({ min, max, scale }: Scaled, value: number): number => {
  const within = Math.min(max, Math.max(min, value));
  return scale === 'logarithmic' ? Math.log(within / min) / Math.log(max / min) : (within - min) / (max - min);
};

/** The value at a place along the control. */
export const valueAt = (parameter: Scaled, place: number): number => {
  const { min, max, scale } = parameter;
  const within = Math.min(1, Math.max(0, place));
  return settled(parameter, scale === 'logarithmic' ? min * (max / min) ** within : min + within * (max - min));
};

export type StepSize = 'fine' | 'plain' | 'page';

const PART: Readonly<Record<Exclude<StepSize, 'fine'>, number>> = { plain: 1 / 100, page: 1 / 10 };

/** One step of the keyboard: a hundredth of the way, a tenth, or the last digit shown; never less than that digit. */
export const stepValue = (parameter: Scaled, value: number, direction: 1 | -1, size: StepSize): number => {
  const digit = 10 ** -parameter.digits;
  const next = size === 'fine' ? value : valueAt(parameter, placeOf(parameter, value) + direction * PART[size]);
  const atLeast = Math.abs(next - value) < digit * 0.75 ? value + direction * digit : next;
  return settled(parameter, atLeast);
};
