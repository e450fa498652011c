import { numberText } from '../../measure/figure-text.ts';
import type { StereoFigures } from '../../measure/figures.ts';
import type { GuardInForce } from '../../session/guard-set.ts';
import type { Guard } from '../../session/schema.ts';
import { driftsOf } from './balance.ts';
import { octaveShiftsOf, type Sounding } from '../trial/octaves.ts';

/** What a guard must know of a mix. Members that cost time may be getters: only what a guard asks for is read. */
export interface Guarded extends Sounding {
  readonly loudnessRangeLu: number | null;
  readonly stereo: StereoFigures;
  readonly truePeakDbtp: number | null;
  /** A mix bus chain follows: peaks are known from the print alone, so there is no true peak here. */
  readonly peaksFollow?: boolean;
  /** Correlation of left and right below 120 Hz. */
  readonly lowsCorrelation: number | null;
  /** Share of each group in the loudness, with what its buses add; null where it is not known. */
  readonly groupShares: ReadonlyMap<string, number> | null;
}

/** What the mix is held against, over the same section. */
export interface GuardReference extends Guarded {
  readonly name: 'rough' | 'mix as received';
}

/** What one guard reads of a mix: the value that its limit is for, and what is worth naming beside it. */
interface Reading {
  readonly value: number;
  /** Where it stands: the octave, the group; '' where there is nothing to say. */
  readonly where?: string;
}

/** What a guard is: the words that every face uses, and how it is read. */
export interface GuardDefinition {
  readonly unit: string;
  readonly decimals: number;
  /** The limit is the greatest value allowed, or the least. */
  readonly bound: 'at most' | 'at least';
  /** One sentence. */
  readonly definition: string;
  /** Held against the rough and the mix as received, whichever exist (the worse counts), or a limit of its own. */
  readonly against: 'references' | 'nothing';
  /** Why there is no value; `beforeChain` where that is for the mix bus chain that follows. */
  readonly missing: string;
  readonly beforeChain?: string;
  /** null: cannot be said. `reference` is there where `against` is "references". */
  readonly read: (mix: Guarded, reference: Guarded) => Reading | null;
}

const fall = (before: number | null, now: number | null): Reading | null =>
  before === null || now === null ? null : { value: before - now };

const largest = (readings: readonly Reading[]): Reading | null =>
  readings.reduce<Reading | null>((worst, each) => (worst && worst.value >= each.value ? worst : each), null);

const hertz = (hz: number): string => (hz < 1000 ? `${Math.round(hz)} Hz` : `${numberText(hz / 1000, 1)} kHz`);
const signed = (value: number, unit: string): string => `${value < 0 ? '' : '+'}${value.toFixed(1)} ${unit}`;

const PEAKS_FOLLOW = 'a mix bus chain follows, and its peaks are known from the print alone, where they are judged';

export const GUARD_DEFINITIONS: Readonly<Record<Guard, GuardDefinition>> = {
  'true peak ceiling': {
    unit: 'dBTP',
    decimals: 1,
    bound: 'at most',
    definition: 'True peak of the mix.',
    against: 'nothing',
    missing: 'the mix is silent',
    beforeChain: PEAKS_FOLLOW,
    read: ({ truePeakDbtp }) => (truePeakDbtp === null ? null : { value: truePeakDbtp }),
  },
  'loudness range loss': {
    unit: 'LU',
    decimals: 1,
    bound: 'at most',
    definition: 'Loudness range of what the mix is held against, less that of the mix.',
    against: 'references',
    missing: 'less than 3 s of sound',
    read: (mix, reference) => fall(reference.loudnessRangeLu, mix.loudnessRangeLu),
  },
  'peak to loudness floor': {
    unit: 'dB',
    decimals: 1,
    bound: 'at least',
    definition: 'True peak of the mix less its integrated loudness.',
    against: 'nothing',
    missing: 'the mix has no loudness',
    beforeChain: PEAKS_FOLLOW,
    read: ({ truePeakDbtp, integratedLufs }) =>
      truePeakDbtp === null || integratedLufs === null ? null : { value: truePeakDbtp - integratedLufs },
  },
  'mono fold loss': {
    unit: 'LU',
    decimals: 1,
    bound: 'at most',
    definition: 'How much more loudness the mix loses on folding to mono than what it is held against.',
    against: 'references',
    missing: 'one of the two has no fold to mono',
    read: (mix, reference) => fall(reference.stereo.monoLossLu, mix.stereo.monoLossLu),
  },
  'lows correlation': {
    unit: '',
    decimals: 2,
    bound: 'at least',
    definition: 'Correlation of left and right below 120 Hz.',
    against: 'nothing',
    missing: 'a channel has no lows',
    read: ({ lowsCorrelation }) => (lowsCorrelation === null ? null : { value: lowsCorrelation }),
  },
  'tonal shift': {
    unit: 'dB',
    decimals: 1,
    bound: 'at most',
    definition: 'The most that any octave lies above or below what the mix is held against, at equal loudness.',
    against: 'references',
    missing: 'one of the two has no loudness',
    read: (mix, reference) =>
      largest(
        (octaveShiftsOf(reference, mix) ?? []).map(({ hz, db }) => ({
          value: Math.abs(db),
          where: `${signed(db, 'dB')} in the octave of ${hertz(hz)}`,
        })),
      ),
  },
  'balance drift': {
    unit: 'LU',
    decimals: 1,
    bound: 'at most',
    definition:
      'The most by which the share of any group in the loudness, with what its buses add, differs from its share in the mix as received.',
    against: 'references',
    missing: 'there is no mix as received to hold it against',
    read: (mix, reference) =>
      mix.groupShares && reference.groupShares
        ? largest(
            driftsOf(reference.groupShares, mix.groupShares).map(({ group, lu }) => ({
              value: Math.abs(lu),
              where: `group ${group} ${signed(lu, 'LU')}`,
            })),
          )
        : null,
  },
  'width change': {
    unit: 'dB',
    decimals: 1,
    bound: 'at most',
    definition: 'How far side to mid of the mix lies from that of what it is held against, either way.',
    against: 'references',
    missing: 'one of the two is mono',
    read: (mix, reference) => {
      const change = fall(mix.stereo.sideToMidDb, reference.stereo.sideToMidDb);
      return change && { value: Math.abs(change.value), where: change.value < 0 ? 'narrower' : 'wider' };
    },
  },
};

/** What one guard says of a mix. */
export interface GuardResult {
  readonly name: Guard;
  readonly limit: number;
  readonly unit: string;
  readonly bound: 'at most' | 'at least';
  /** null: there is nothing to judge; the sentence says why. */
  readonly value: number | null;
  readonly pass: boolean;
  /** What the value is against: the worse of the references, or null for a limit of its own. */
  readonly against: GuardReference['name'] | null;
  readonly sentence: string;
}

const keeps = ({ bound }: GuardDefinition, value: number, limit: number): boolean =>
  bound === 'at most' ? value <= limit : value >= limit;

const worseOf = ({ bound }: GuardDefinition, a: number, b: number): boolean => (bound === 'at most' ? a > b : a < b);

/** One guard's value on a mix: the worst against any of the references that it can be held against. */
export const readGuard = (
  guard: Guard,
  mix: Guarded,
  references: readonly GuardReference[],
): (Reading & { readonly against: GuardReference['name'] | null }) | null => {
  const definition = GUARD_DEFINITIONS[guard];
  if (definition.against === 'nothing') {
    const reading = definition.read(mix, mix);
    return reading && { ...reading, against: null };
  }
  const readings = references.flatMap((reference) => {
    const reading = definition.read(mix, reference);
    return reading ? [{ ...reading, against: reference.name }] : [];
  });
  return readings.reduce<(typeof readings)[number] | null>(
    (worst, each) => (worst && !worseOf(definition, each.value, worst.value) ? worst : each),
    null,
  );
};

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
      sentence: `${capital(guard)} is not judged: ${(mix.peaksFollow && beforeChain) || missing}.`,
    };
  }
  const { value, where, against } = reading;
  const pass = keeps(definition, value, limit);
  const text = (number: number): string => `${numberText(number, decimals)} ${unit}`.trim();
  const details = [...(where ? [where] : []), ...(against ? [`against the ${against}`] : [])].join(', ');
  const said = `${text(value)}${details ? ` (${details})` : ''}`;
  const sentence = `${capital(guard)} is ${said}; ${pass ? 'it keeps' : 'it breaks'} the limit of ${bound} ${text(limit)}.`;
  return { ...common, value, pass, against, sentence };
};

/** What every guard that is on says of a mix, in their order. */
export const checkGuards = (
  guards: readonly GuardInForce[],
  mix: Guarded,
  references: readonly GuardReference[],
): GuardResult[] => guards.filter(({ on }) => on).map((guard) => resultOf(guard, mix, references));
