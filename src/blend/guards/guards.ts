import { numberText } from '../../measure/definitions/figure-text.ts';
import type { StereoFigures } from '../../measure/figures.ts';
import type { GuardInForce } from '../../session/guard-set.ts';
import type { Guard } from '../../session/schema.ts';
import { driftsOf } from './balance.ts';
import { octaveShiftsOf, type Sounding } from '../trial/octaves.ts';

/** The figures of a mix that guards read. Costly ones may be getters: only what a guard reads is computed. */
export interface Guarded extends Sounding {
  readonly integratedLufs: number | null;
  readonly loudnessRangeLu: number | null;
  readonly stereo: StereoFigures;
  readonly truePeakDbtp: number | null;
  /** True if a mix bus chain follows: its peaks are known from the print only, so the true peak here is null. */
  readonly peaksFollow?: boolean;
  /** Correlation of left and right below 120 Hz. */
  readonly lowsCorrelation: number | null;
  /** Share of each group in the loudness, with what its buses add; null where it is not known. */
  readonly groupShares: ReadonlyMap<string, number> | null;
}

/** The figures that the mix is compared with, over the same section. */
export interface GuardReference extends Guarded {
  readonly name: 'rough' | 'mix as received';
}

/** One value that a guard compares with its limit, with its octave or group. */
interface Reading {
  readonly value: number;
  /** The octave or group with its signed change, for the sentence; absent if the guard has one value. */
  readonly where?: string;
  /** Identifies the octave or group among the readings of one guard. */
  readonly of?: string;
}

/** One reading and the reference it was computed against; null if the limit is absolute. */
export interface HeldReading extends Reading {
  readonly against: GuardReference['name'] | null;
}

/** Definition of a guard: unit, bound, texts and how its values are read. */
interface GuardDefinition {
  readonly unit: string;
  readonly decimals: number;
  /** The limit is the greatest value allowed, or the least. */
  readonly bound: 'at most' | 'at least';
  /** One sentence. */
  readonly definition: string;
  /**
   * Compared with the rough and the mix as received, whichever exist (the worse result counts), or with an absolute
   * limit.
   */
  readonly against: 'references' | 'nothing';
  /** Why there is no value; `beforeChain` where the reason is that a mix bus chain follows. */
  readonly missing: string;
  readonly beforeChain?: string;
  /**
   * All values that the limit applies to, one for each octave or group; empty: they do not exist. `reference` as
   * `against` says.
   */
  readonly read: (mix: Guarded, reference: Guarded) => readonly Reading[];
}

const fall = (before: number | null, now: number | null): Reading[] =>
  before === null || now === null ? [] : [{ value: before - now }];

const only = (value: number | null): Reading[] => (value === null ? [] : [{ value }]);

const hertz = (hz: number): string => (hz < 1000 ? `${Math.round(hz)} Hz` : `${numberText(hz / 1000, 1)} kHz`);
const signed = (value: number, unit: string): string => `${value < 0 ? '' : '+'}${value.toFixed(1)} ${unit}`;

const PEAKS_FOLLOW = 'the mix bus chain changes the peaks, so this guard is judged on the print';

export const GUARD_DEFINITIONS: Readonly<Record<Guard, GuardDefinition>> = {
  'true-peak ceiling': {
    unit: 'dBTP',
    decimals: 1,
    bound: 'at most',
    definition: 'True peak of the mix.',
    against: 'nothing',
    missing: 'the mix is silent',
    beforeChain: PEAKS_FOLLOW,
    read: ({ truePeakDbtp }) => only(truePeakDbtp),
  },
  'LRA loss': {
    unit: 'LU',
    decimals: 1,
    bound: 'at most',
    definition: 'Loudness range of what the mix is held against, less that of the mix.',
    against: 'references',
    missing: 'less than 3 s of sound',
    read: (mix, reference) => fall(reference.loudnessRangeLu, mix.loudnessRangeLu),
  },
  'minimum PLR': {
    unit: 'dB',
    decimals: 1,
    bound: 'at least',
    definition: 'True peak of the mix less its integrated loudness.',
    against: 'nothing',
    missing: 'the mix has no loudness',
    beforeChain: PEAKS_FOLLOW,
    read: ({ truePeakDbtp, integratedLufs }) =>
      truePeakDbtp === null || integratedLufs === null ? [] : [{ value: truePeakDbtp - integratedLufs }],
  },
  'mono loss': {
    unit: 'LU',
    decimals: 1,
    bound: 'at most',
    definition: 'Loudness lost when summed to mono: that of the mix less that of what it is held against.',
    against: 'references',
    missing: 'the mix or what it is held against is silent in mono',
    read: (mix, reference) => fall(reference.stereo.monoLossLu, mix.stereo.monoLossLu),
  },
  'lows correlation': {
    unit: '',
    decimals: 2,
    bound: 'at least',
    definition: 'Correlation of left and right below 120 Hz.',
    against: 'nothing',
    missing: 'a channel has no sound below 120 Hz',
    read: ({ lowsCorrelation }) => only(lowsCorrelation),
  },
  'tonal shift': {
    unit: 'dB',
    decimals: 1,
    bound: 'at most',
    definition: 'Greatest difference in level of any octave from what the mix is held against, at equal loudness.',
    against: 'references',
    missing: 'the mix or what it is held against is silent',
    read: (mix, reference) =>
      (octaveShiftsOf(reference, mix) ?? []).map(({ hz, db }) => ({
        value: Math.abs(db),
        where: `${signed(db, 'dB')} in the octave of ${hertz(hz)}`,
        of: `${hz}`,
      })),
  },
  'balance drift': {
    unit: 'LU',
    decimals: 1,
    bound: 'at most',
    definition:
      'Greatest change of any group’s share of the loudness, its parallel buses included, from its share in the mix as received.',
    against: 'references',
    missing: 'there is no mix as received to compare with',
    read: (mix, reference) =>
      mix.groupShares && reference.groupShares
        ? driftsOf(reference.groupShares, mix.groupShares).map(({ group, lu }) => ({
            value: Math.abs(lu),
            where: `group ${group} ${signed(lu, 'LU')}`,
            of: group,
          }))
        : [],
  },
  'width change': {
    unit: 'dB',
    decimals: 1,
    bound: 'at most',
    definition: 'Difference in side to mid, up or down, from what the mix is held against.',
    against: 'references',
    missing: 'the mix or what it is held against is mono',
    read: (mix, reference) =>
      fall(mix.stereo.sideToMidDb, reference.stereo.sideToMidDb).map(({ value }) => ({
        value: Math.abs(value),
        where: value < 0 ? 'narrower' : 'wider',
      })),
  },
};

/** Result of one guard for a mix. */
export interface GuardResult {
  readonly name: Guard;
  readonly limit: number;
  readonly unit: string;
  readonly bound: 'at most' | 'at least';
  /** null: there is no value; the sentence says why. */
  readonly value: number | null;
  readonly pass: boolean;
  /** The reference whose result is worse, or null for an absolute limit. */
  readonly against: GuardReference['name'] | null;
  readonly sentence: string;
}

const keeps = ({ bound }: GuardDefinition, value: number, limit: number): boolean =>
  bound === 'at most' ? value <= limit : value >= limit;

const worseOf = ({ bound }: GuardDefinition, a: number, b: number): boolean => (bound === 'at most' ? a > b : a < b);

/** All readings of one guard, against each of the references it applies to. */
export const guardReadings = (
  guard: Guard,
  mix: Guarded,
  references: readonly GuardReference[],
): readonly HeldReading[] => {
  const { against, read } = GUARD_DEFINITIONS[guard];
  if (against === 'nothing') return read(mix, mix).map((reading) => ({ ...reading, against: null }));
  return references.flatMap((reference) =>
    read(mix, reference).map((reading) => ({ ...reading, against: reference.name })),
  );
};

/** One guard's value on a mix: the worst of its readings. */
const readGuard = (guard: Guard, mix: Guarded, references: readonly GuardReference[]): HeldReading | null =>
  guardReadings(guard, mix, references).reduce<HeldReading | null>(
    (worst, each) => (worst && !worseOf(GUARD_DEFINITIONS[guard], each.value, worst.value) ? worst : each),
    null,
  );

const capital = (text: string): string => `${text[0]!.toUpperCase()}${text.slice(1)}`;

const resultOf = ({ guard, limit }: GuardInForce, mix: Guarded, references: readonly GuardReference[]): GuardResult => {
  const definition = GUARD_DEFINITIONS[guard];
  const { unit, decimals, bound, missing, beforeChain } = definition;
  const reading = readGuard(guard, mix, references);
  const common = { name: guard, limit, unit, bound };
  if (!reading) {
    return {
      ...common,
      value: null,
      pass: true,
      against: null,
      sentence: `${capital(guard)} cannot be judged: ${(mix.peaksFollow && beforeChain) || missing}.`,
    };
  }
  const { value, where, against } = reading;
  const pass = keeps(definition, value, limit);
  const text = (number: number): string => `${numberText(number, decimals)} ${unit}`.trim();
  const details = [...(where ? [where] : []), ...(against ? [`against the ${against}`] : [])].join(', ');
  const said = `${text(value)}${details ? ` (${details})` : ''}`;
  const sentence = `${capital(guard)} is ${said}, ${pass ? 'within' : 'outside'} the limit of ${bound} ${text(limit)}.`;
  return { ...common, value, pass, against, sentence };
};

/** Results of all guards that are on, in their order. */
export const checkGuards = (
  guards: readonly GuardInForce[],
  mix: Guarded,
  references: readonly GuardReference[],
): GuardResult[] => guards.filter(({ on }) => on).map((guard) => resultOf(guard, mix, references));
