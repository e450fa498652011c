import { inARow } from '../../session/problem.ts';
import type { PathAlignment } from './path-alignment.ts';
import { hertzText, type Cancellation } from './sentence.ts';

/** A possible fault of a path: its kind, a sentence with figures, and what to do. */
export interface Flag {
  readonly code: 'negative share' | 'late' | 'early' | 'polarity' | 'combs' | 'phase shift' | 'uncorrelated' | 'no key';
  readonly reason: string;
  readonly wayOut: string;
}

/** The measurements of a path that its flags follow from. */
interface PathFacts {
  /** Part of the mix's loudness; null in silence. */
  readonly share: number | null;
  readonly alignment: PathAlignment;
  /** The third octave in which it lowers its source most. */
  readonly worst: Cancellation;
  /** Correlation with what it doubles, 0..1; null where that is not heard. */
  readonly correlation: number | null;
  readonly sampleRate: number;
  readonly nameOf: (id: string) => string;
}

/** Negative shares closer to 0 than this, parts of 1, give no flag: half a percent of the loudness is not heard. */
const NEGATIVE_SHARE = -0.005;

/** A cancellation of this depth in any third octave counts as audible, dB (common practice). */
const HEARD_HOLE = -1;

/** A correlation below this counts as none: six pairs of unrelated noises of five seconds read 0.010 to 0.026. */
const UNCORRELATED = 0.1;

/** Delay from which a copy is heard as an echo instead of coloration, seconds (Wallach 1949: up to 40 ms). */
export const ECHO_SECONDS = 0.04;

const against = ({ alignment, nameOf }: PathFacts): string => `relative to ${inARow(alignment.against.map(nameOf))}`;

const cancels = ({ db, hz }: Cancellation): string => `cancels ${(-db).toFixed(1)} dB at ${hertzText(hz ?? 0)}`;

/** A processor's delay of ECHO_SECONDS or more counts as intended; a shorter one may be a mistake. */
const isEcho = ({ by, lagSamples }: PathAlignment, sampleRate: number): boolean =>
  by.length > 0 && Math.abs(lagSamples ?? 0) >= ECHO_SECONDS * sampleRate;

const lagFlags = (facts: PathFacts): Flag[] => {
  const { alignment, worst, sampleRate } = facts;
  const lag = alignment.lagSamples ?? 0;
  if (lag === 0 || isEcho(alignment, sampleRate)) return [];
  const size = Math.abs(lag);
  const ms = `${((1000 * size) / sampleRate).toFixed(2)} ms`;
  const { by, repeats } = alignment;
  const asWell = repeats === undefined ? '' : ` The tone is steady: ${repeats} samples more or less fit equally well.`;
  const flags: Flag[] = [
    {
      code: lag > 0 ? 'late' : 'early',
      reason: `${lag > 0 ? 'Late' : 'Early'} by ${size} ${size === 1 ? 'sample' : 'samples'} (${ms}) ${against(facts)}.${asWell}`,
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

const phaseFlags = (facts: PathFacts): Flag[] => {
  const { alignment, worst, correlation } = facts;
  if (alignment.lagSamples === null) return [];
  if (alignment.lagSamples === 0 && correlation !== null && correlation < UNCORRELATED) {
    const reason = `Uncorrelated: it has nothing in common with ${inARow(alignment.against.map(facts.nameOf))}.`;
    return [{ code: 'uncorrelated', reason, wayOut: 'If it should double them, check what feeds it and its chain.' }];
  }
  if (alignment.polarity === -1) {
    const reason = `Polarity inverted ${against(facts)}.`;
    return [{ code: 'polarity', reason, wayOut: 'Invert its polarity.' }];
  }
  if (alignment.lagSamples !== 0 || worst.db >= HEARD_HOLE) return [];
  const wayOut = 'Use gentler slopes, move their corners away from there, or lower its level.';
  return [{ code: 'phase shift', reason: `Phase shift ${against(facts)}: ${cancels(worst)}.`, wayOut }];
};

/** All flags of a path. */
export const flagsOf = (facts: PathFacts): Flag[] => {
  const { share, alignment, worst } = facts;
  const flags = [...lagFlags(facts), ...phaseFlags(facts)];
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
