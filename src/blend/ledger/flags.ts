import { inARow } from '../../session/problem.ts';
import type { PathAlignment } from './path-alignment.ts';
import { hertzText, type Cancellation } from './sentence.ts';

/** Something about a path that asks for a look: what it is, what the figures say, and what can be done. */
export interface Flag {
  readonly code: 'negative share' | 'late' | 'early' | 'polarity' | 'combs' | 'phase shift' | 'no key';
  readonly reason: string;
  readonly wayOut: string;
}

/** What is known of a path when its flags are told. */
interface Told {
  /** Part of the mix's loudness; null in silence. */
  readonly share: number | null;
  readonly alignment: PathAlignment;
  /** Where it lowers its source most. */
  readonly worst: Cancellation;
  readonly sampleRate: number;
  readonly nameOf: (id: string) => string;
}

/** Shares above this (half a percent of the loudness taken away) are not told: nothing is heard of them. */
const NEGATIVE_SHARE = -0.005;

/** A hole of this depth in any third octave is heard, dB. */
const HEARD_HOLE = -1;

/** From about here on a copy is heard as an echo and not as colour, seconds (Wallach 1949: up to 40 ms). */
export const ECHO_SECONDS = 0.04;

const against = ({ alignment, nameOf }: Told): string => `relative to ${inARow(alignment.against.map(nameOf))}`;

const cancels = ({ db, hz }: Cancellation): string => `cancels ${(-db).toFixed(1)} dB at ${hertzText(hz ?? 0)}`;

/** What makes a path late by design is meant from an echo on; anything else may be a mistake. */
const isEcho = ({ by, lagSamples }: PathAlignment, sampleRate: number): boolean =>
  by.length > 0 && Math.abs(lagSamples ?? 0) >= ECHO_SECONDS * sampleRate;

const lagFlags = (told: Told): Flag[] => {
  const { alignment, worst, sampleRate } = told;
  const lag = alignment.lagSamples ?? 0;
  if (lag === 0 || isEcho(alignment, sampleRate)) return [];
  const size = Math.abs(lag);
  const ms = `${((1000 * size) / sampleRate).toFixed(2)} ms`;
  const { by } = alignment;
  const flags: Flag[] = [
    {
      code: lag > 0 ? 'late' : 'early',
      reason: `${lag > 0 ? 'Late' : 'Early'} by ${size} ${size === 1 ? 'sample' : 'samples'} (${ms}) ${against(told)}.`,
      wayOut:
        by.length > 0
          ? `Time-align it: the delay is that of its ${inARow(by)}.`
          : `Time-align it: move its tracks ${ms} ${lag > 0 ? 'earlier' : 'later'}.`,
    },
  ];
  if (worst.db < HEARD_HOLE && size < ECHO_SECONDS * sampleRate) {
    flags.push({
      code: 'combs',
      reason: `Comb filter: ${cancels(worst)}, and every ${hertzText(sampleRate / size)} above.`,
      wayOut: 'Time-align it, or lower its level.',
    });
  }
  return flags;
};

const phaseFlags = (told: Told): Flag[] => {
  const { alignment, worst } = told;
  if (alignment.lagSamples === null) return [];
  if (alignment.polarity === -1) {
    const reason = `Polarity inverted ${against(told)}.`;
    return [{ code: 'polarity', reason, wayOut: 'Invert its polarity.' }];
  }
  if (alignment.lagSamples !== 0 || worst.db >= HEARD_HOLE) return [];
  const wayOut = 'Use gentler slopes, move their corners away from there, or lower its level.';
  return [{ code: 'phase shift', reason: `Phase shift ${against(told)}: ${cancels(worst)}.`, wayOut }];
};

/** What is to be told of a path. */
export const flagsOf = (told: Told): Flag[] => {
  const { share, alignment, worst } = told;
  const flags = [...lagFlags(told), ...phaseFlags(told)];
  if (share !== null && share < NEGATIVE_SHARE) {
    const where = worst.hz === null ? '' : `, most at ${hertzText(worst.hz)}`;
    const isInverted = alignment.lagSamples !== null && alignment.polarity === -1;
    flags.push({
      code: 'negative share',
      reason: `Negative share: it cancels ${(-100 * share).toFixed(1)} % of the loudness of the mix${where}.`,
      wayOut: isInverted
        ? 'Invert its polarity.'
        : 'Try inverting its polarity, or cut the range that it shares with the others.',
    });
  }
  return flags;
};
