import type { PathAlignment } from './path-alignment.ts';
import { hertzText, type Cancellation } from './sentence.ts';

/** Something about a path that asks for a look: what it is, what the figures say, and what can be done. */
export interface Flag {
  readonly code: 'negative share' | 'late' | 'early' | 'polarity' | 'combs' | 'turns phase' | 'no key';
  readonly reason: string;
  readonly wayOut: string;
}

/** Shares above this (half a percent of the loudness taken away) are not told: nothing is heard of them. */
const NEGATIVE_SHARE = -0.005;

/** A hole of this depth in any third octave is heard, dB. */
const HEARD_HOLE = -1;

/** From about here on a copy is heard as an echo and not as colour, seconds (Wallach 1949: up to 40 ms). */
const ECHO_SECONDS = 0.04;

const lateness = (lag: number, sampleRate: number): string =>
  `${Math.abs(lag)} ${Math.abs(lag) === 1 ? 'sample' : 'samples'} (${((1000 * Math.abs(lag)) / sampleRate).toFixed(2)} ms)`;

const lagFlags = (lag: number, worst: Cancellation, sampleRate: number): Flag[] => {
  if (lag === 0) return [];
  const late = lag > 0;
  const seconds = Math.abs(lag) / sampleRate;
  const flags: Flag[] = [
    {
      code: late ? 'late' : 'early',
      reason: `It comes ${lateness(lag, sampleRate)} ${late ? 'after' : 'before'} what it doubles.`,
      wayOut:
        seconds >= ECHO_SECONDS
          ? 'If this is meant as an echo, leave it; if not, take the delay out of its chain.'
          : late
            ? 'Take the delay out of its chain, or move what it is made of earlier by as much.'
            : 'Move what it is made of later by as much.',
    },
  ];
  if (worst.db < HEARD_HOLE && seconds < ECHO_SECONDS) {
    const tooth = sampleRate / Math.abs(lag);
    flags.push({
      code: 'combs',
      reason: `The mix gets holes ${hertzText(tooth)} apart; the worst is ${(-worst.db).toFixed(1)} dB around ${hertzText(worst.hz ?? tooth / 2)}.`,
      wayOut: 'Bring it into step with what it doubles, or blend it lower.',
    });
  }
  return flags;
};

/** What is to be told of a path, given its share, how it lies, and where it lowers the mix most. */
export const flagsOf = (
  share: number | null,
  { lagSamples, polarity, turnsPhase }: PathAlignment,
  worst: Cancellation,
  sampleRate: number,
): Flag[] => {
  const flags = lagSamples === null ? [] : lagFlags(lagSamples, worst, sampleRate);
  const inverted = lagSamples !== null && polarity === -1;
  if (inverted) {
    flags.push({
      code: 'polarity',
      reason: 'It stands upside down against what it doubles.',
      wayOut: 'Turn its polarity over with a gain processor at the end of its chain.',
    });
  }
  if (turnsPhase && worst.db < HEARD_HOLE && !inverted && lagSamples === 0) {
    flags.push({
      code: 'turns phase',
      reason: `Its filters turn the phase: the mix loses ${(-worst.db).toFixed(1)} dB around ${hertzText(worst.hz ?? 0)}.`,
      wayOut: 'Use gentler slopes, move their corners away from there, or blend it lower.',
    });
  }
  if (share !== null && share < NEGATIVE_SHARE) {
    const where = worst.hz === null ? '' : `, most around ${hertzText(worst.hz)}`;
    flags.push({
      code: 'negative share',
      reason: `It takes ${(-100 * share).toFixed(1)} % of the loudness away from the other paths${where}.`,
      wayOut: inverted
        ? 'Turn its polarity over.'
        : 'Try its polarity the other way, or take out of it what the others have already.',
    });
  }
  return flags;
};
