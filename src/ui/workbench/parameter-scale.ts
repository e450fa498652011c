import type { NumberParameter } from '../../dsp/core/parameter.ts';

type Scaled = Pick<NumberParameter, 'min' | 'max' | 'scale' | 'digits'>;
type Stepped = Scaled & Pick<NumberParameter, 'unit'>;

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

export type StepSize = 'plain' | 'large' | 'page';

/** What a plain step of a logarithmic parameter goes up by: about as much as 0.1 dB is. */
const RATIO = 1.01;

/** What a plain step of a linear parameter adds: 0.1 dB, elsewhere the last digit shown. */
const addedBy = ({ unit, digits }: Stepped): number => Math.max(10 ** -digits, unit === 'dB' ? 0.1 : 0);

const exactStep = (parameter: Stepped, value: number, direction: 1 | -1, size: StepSize): number => {
  if (size === 'page') return valueAt(parameter, placeOf(parameter, value) + direction / 10);
  const steps = direction * (size === 'large' ? 10 : 1);
  return parameter.scale === 'logarithmic' ? value * RATIO ** steps : value + steps * addedBy(parameter);
};

/**
 * One step of the keyboard: 0.1 dB, the last digit shown of another unit, or 1 % of what is logarithmic; a large one ten
 * times that; a page a tenth of the way. Never less than the last digit.
 */
export const stepValue = (parameter: Stepped, value: number, direction: 1 | -1, size: StepSize): number => {
  const digit = 10 ** -parameter.digits;
  const next = exactStep(parameter, value, direction, size);
  return settled(parameter, Math.abs(next - value) < digit * 0.75 ? value + direction * digit : next);
};
