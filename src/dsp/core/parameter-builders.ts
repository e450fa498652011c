import type { ChoiceParameter, Described, NumberParameter, SwitchParameter, Unit } from './parameter.ts';

type Range = readonly [min: number, max: number];

/** Optional details of a number beside its label and range. */
type NumberDetails = Omit<Described, 'label'> & Partial<Pick<NumberParameter, 'default' | 'scale' | 'digits'>>;

const numberIn = <U extends Unit, Details extends NumberDetails>(
  unit: U,
  label: string,
  [min, max]: Range,
  usual: Pick<NumberParameter, 'scale' | 'digits'>,
  details: Details,
): NumberParameter<U> => ({ kind: 'number', label, unit, min, max, default: 0, ...usual, ...details });

/** Logarithmic where the range allows it. */
const byFactors = ([min]: Range, digits: number): Pick<NumberParameter, 'scale' | 'digits'> => ({
  scale: min > 0 ? 'logarithmic' : 'linear',
  digits,
});

// The unit of the range and the default is in the name of each builder. The default is 0 unless given.

/** A level or a change of level, dB; shown with one digit. */
export const decibels = (
  label: string,
  range: Range,
  details: NumberDetails & Pick<NumberParameter, 'followsLevel'>,
): NumberParameter<'dB'> => numberIn('dB', label, range, { scale: 'linear', digits: 1 }, details);

/** A share or a factor, %. */
export const percent = (label: string, range: Range, details: NumberDetails): NumberParameter<'%'> =>
  numberIn('%', label, range, { scale: 'linear', digits: 0 }, details);

/** A time, ms; logarithmic if it cannot be 0. */
export const milliseconds = (
  label: string,
  range: Range,
  details: NumberDetails & Pick<NumberParameter, 'noteValues'>,
): NumberParameter<'ms'> => numberIn('ms', label, range, byFactors(range, 0), details);

/** A time, s, as `milliseconds`; shown with two digits. */
export const seconds = (label: string, range: Range, details: NumberDetails): NumberParameter<'s'> =>
  numberIn('s', label, range, byFactors(range, 2), details);

/** A frequency, Hz, greater than 0; logarithmic. Its default must be given. */
export const hertz = (
  label: string,
  range: Range,
  details: NumberDetails & Pick<NumberParameter, 'default'>,
): NumberParameter<'Hz'> => numberIn('Hz', label, range, byFactors(range, 0), details);

/** A detune, cents; shown with one digit. */
export const cents = (label: string, range: Range, details: NumberDetails): NumberParameter<'cents'> =>
  numberIn('cents', label, range, { scale: 'linear', digits: 1 }, details);

/** A ratio to 1, 1 or more; logarithmic. The default is 1:1. */
export const ratio = (label: string, range: Range, details: NumberDetails): NumberParameter<':1'> =>
  numberIn(':1', label, range, byFactors(range, 1), { default: 1, ...details });

/** The Q of a filter, greater than 0; logarithmic. Its default must be given. */
export const quality = (
  label: string,
  range: Range,
  details: NumberDetails & Pick<NumberParameter, 'default'>,
): NumberParameter<''> => numberIn('', label, range, byFactors(range, 2), details);

/** One of several; the first where no default is given. */
export const choice = <const C extends readonly string[]>(
  label: string,
  choices: C,
  details: Omit<Described, 'label'> & { readonly default?: NoInfer<C[number]> },
): ChoiceParameter<C> => ({ kind: 'choice', label, choices, default: choices[0]!, ...details });

/** On or off; off where no default is given. */
export const toggle = (
  label: string,
  details: Omit<Described, 'label'> & { readonly default?: boolean },
): SwitchParameter => ({ kind: 'switch', label, default: false, ...details });
