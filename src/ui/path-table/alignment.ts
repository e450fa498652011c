import { ECHO_SECONDS } from '../../blend/ledger/flags.ts';
import type { PathFindings } from '../../engine/engine.ts';
import { plain } from '../shared/format.ts';

export interface AlignmentWords {
  /** A word for the table. */
  readonly short: string;
  /** A sentence for who asks. */
  readonly long: string;
  /** fine: nothing to do; wrong: it is flagged for its time or phase. */
  readonly state: 'fine' | 'wrong';
}

/** Samples as long as they can be read at a glance, then ms. */
const shortLag = (samples: number, sampleRate: number): string =>
  samples < 1000
    ? `${samples} ${samples === 1 ? 'sample' : 'samples'}`
    : `${plain((samples / sampleRate) * 1000, 0)} ms`;

const shortWords = (
  { lagSamples, polarity }: PathFindings['alignment'],
  { codes, isEcho }: { readonly codes: readonly string[]; readonly isEcho: boolean },
  sampleRate: number,
): string => {
  const lag = lagSamples ?? 0;
  if (lag === 0 && codes.includes('uncorrelated')) return 'uncorrelated';
  if (lag === 0) return polarity === -1 ? 'inverted' : codes.includes('phase shift') ? 'phase shift' : 'aligned';
  const away = `${shortLag(Math.abs(lag), sampleRate)} ${isEcho ? 'echo' : lag > 0 ? 'late' : 'early'}`;
  // The column's heading tells the unit, and both do not fit into its cell.
  return polarity === -1 ? `${away.replace(/ samples?/, '')}, inv.` : away;
};

const unflaggedWords = ({ lagSamples, polarity }: PathFindings['alignment'], sampleRate: number): string => {
  const lag = lagSamples ?? 0;
  if (lag === 0 && polarity === 1) return 'Sample-aligned with its source.';
  if (lag < ECHO_SECONDS * sampleRate) return 'Silent: nothing to align.';
  return `An echo ${plain((1000 * lag) / sampleRate, 0)} ms after its source.`;
};

/** How a path is aligned with its source; null where it has none in the mix. */
export const alignmentWords = (
  { alignment, flags }: Pick<PathFindings, 'alignment' | 'flags'>,
  sampleRate: number,
): AlignmentWords | null => {
  const { lagSamples, cancelsDb } = alignment;
  if (lagSamples === null) return null;
  // What its share says stands in the column of the shares.
  const shown = flags.filter(({ code }) => code !== 'negative share');
  // A delay of that length is meant, and flagged by nothing.
  const isEcho = shown.length === 0 && lagSamples >= ECHO_SECONDS * sampleRate;
  const short = shortWords(alignment, { codes: shown.map(({ code }) => code), isEcho }, sampleRate);
  if (shown.length > 0) {
    return { short, long: shown.map(({ reason, wayOut }) => `${reason} ${wayOut}`).join(' '), state: 'wrong' };
  }
  const cancels = (cancelsDb ?? 0) < -0.5 ? ` It cancels up to ${plain(-cancelsDb!)} dB of its source.` : '';
  return { short, long: unflaggedWords(alignment, sampleRate) + cancels, state: 'fine' };
};
