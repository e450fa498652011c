/** Units that a parameter can carry; '' is a plain number. */
export type Unit = 'dB' | 'Hz' | 'ms' | 's' | '%' | 'cents' | ':1' | 'dB/oct' | '';

/** Fields of every parameter. */
export interface Described {
  readonly label: string;
  /** What the parameter does, in one sentence. */
  readonly about: string;
  /** Parameters of one group are drawn together ("Band 1"). */
  readonly group?: string;
  /** It has an effect only while another parameter of the processor has one of these settings, and has an effect itself. */
  readonly countsWhile?: { readonly parameter: string; readonly is: readonly Setting[] };
}

export interface NumberParameter<U extends Unit = Unit> extends Described {
  readonly kind: 'number';
  readonly unit: U;
  readonly min: number;
  readonly max: number;
  readonly default: number;
  /** How a control travels from min to max; logarithmic needs min > 0. */
  readonly scale: 'linear' | 'logarithmic';
  /** Digits after the point when shown. */
  readonly digits: number;
  /** True for times in ms that may also be given as a note value such as "1/8 dotted". */
  readonly noteValues?: true;
  /** True for levels that follow the level of the sound: for sound 6 dB louder they are set 6 dB higher. */
  readonly followsLevel?: true;
}

export interface ChoiceParameter<C extends readonly string[] = readonly string[]> extends Described {
  readonly kind: 'choice';
  readonly choices: C;
  readonly default: C[number];
}

export interface SwitchParameter extends Described {
  readonly kind: 'switch';
  readonly default: boolean;
}

export type Parameter = NumberParameter | ChoiceParameter | SwitchParameter;
export type Parameters = Readonly<Record<string, Parameter>>;

/** One setting as a session writes it: a number in the parameter's unit, a choice's name or a note value, or a switch. */
export type Setting = number | string | boolean;
export type Settings = Readonly<Record<string, Setting>>;

/** Settings as a kernel reads them, one number a parameter: the number itself, the index of the choice, or 0 / 1. */
export type Values<P extends Parameters = Parameters> = Readonly<Record<keyof P & string, number>>;

/** The number that a kernel reads for `setting`. The setting must already be valid, and a note value already ms. */
export const valueOf = (parameter: Parameter, setting: Setting): number => {
  if (parameter.kind === 'choice') return parameter.choices.indexOf(String(setting));
  return Number(setting);
};

/** Values of all parameters: the given settings, and the default of each parameter not given. */
export const valuesFrom = <P extends Parameters>(parameters: P, settings: Settings = {}): Values<P> =>
  Object.fromEntries(
    Object.entries(parameters).map(([id, parameter]) => [id, valueOf(parameter, settings[id] ?? parameter.default)]),
  ) as Values<P>;
