import type { PathFindings } from '../engine/engine.ts';
import { counted, plain } from '../shared/format.ts';

export interface AlignmentWords {
  /** A word for the table. */
  readonly short: string;
  /** A sentence for who asks. */
  readonly long: string;
  /** fine: nothing to do; wrong: it meets what it doubles too late, too early or upside down. */
  readonly state: 'fine' | 'wrong';
}

/** What to do about it, unless it is meant. */
const WAYS = {
  late: 'If that is not meant, shorten a delay in its chain, or delay what it doubles by as much.',
  early: 'If that is not meant, add a Delay of as much to its chain.',
  inverted: 'If that is not meant, add a Gain with its polarity inverted.',
} as const;

/** Samples as long as they can be read at a glance, then ms. */
const shortLag = (samples: number, sampleRate: number): string =>
  samples < 1000 ? `${samples} smp` : `${plain((samples / sampleRate) * 1000, 0)} ms`;

/** How a path meets what it doubles; null where it doubles nothing. */
export const alignmentWords = (
  { lagSamples, polarity, cancelsDb }: PathFindings['alignment'],
  sampleRate: number,
): AlignmentWords | null => {
  if (lagSamples === null) return null;
  const cancels =
    (cancelsDb ?? 0) < -0.5 ? ` Where it cancels most it takes the mix down by ${plain(-cancelsDb!)} dB.` : '';
  if (lagSamples === 0 && polarity === 1) {
    return { short: 'exact', long: `It meets what it doubles on the same sample.${cancels}`, state: 'fine' };
  }
  const direction = lagSamples > 0 ? 'late' : 'early';
  const size = Math.abs(lagSamples);
  const lag = `${counted(size, 'sample')} ${direction} (${plain((size / sampleRate) * 1000, 2)} ms)`;
  const parts = [size === 0 ? '' : lag, polarity === -1 ? 'with inverted polarity' : ''].filter(Boolean).join(', ');
  const away = `${shortLag(size, sampleRate)} ${direction}`;
  const short = size === 0 ? 'inverted' : polarity === -1 ? `${away}, inv.` : away;
  const advice = [size === 0 ? '' : WAYS[direction], polarity === -1 ? WAYS.inverted : ''].filter(Boolean).join(' ');
  return { short, long: `It meets what it doubles ${parts}.${cancels} ${advice}`, state: 'wrong' };
};
