import type { Flag } from '../../blend/ledger/flags.ts';
import { turnPolarity } from '../../session/chain/chain-edits.ts';
import { changeTrack } from '../../session/edits/edits.ts';
import type { Session } from '../../session/schema.ts';
import type { PathRow } from '../bench/paths.ts';
import type { PathFindings } from '../../engine/engine.ts';
import { plain } from '../shared/format.ts';

/** A way out that is one edit. */
export interface FlagFix {
  /** What its button says. */
  readonly label: string;
  /** What undo calls it. */
  readonly step: string;
  readonly edit: (session: Session) => Session;
}

const movedEarlier = (session: Session, group: string, seconds: number): Session =>
  session.tracks
    .filter((track) => track.group === group)
    .reduce(
      (moved, { id, offsetSeconds }) => changeTrack(moved, id, { offsetSeconds: offsetSeconds - seconds }),
      session,
    );

/** The edit that a flag's way out comes down to; null where it takes more than one, or a decision. */
export const fixOf = (
  flag: Flag,
  row: PathRow,
  { alignment, flags }: Pick<PathFindings, 'alignment' | 'flags'>,
  sampleRate: number,
): FlagFix | null => {
  const { name, id, kind } = row;
  const isInverted = flags.some(({ code }) => code === 'polarity');
  if (flag.code === 'polarity' || (flag.code === 'negative share' && !isInverted)) {
    return { label: 'Invert its polarity', step: `polarity of ${name}`, edit: (s) => turnPolarity(s, id) };
  }
  const lag = alignment.lagSamples ?? 0;
  if ((flag.code !== 'late' && flag.code !== 'early') || kind !== 'group' || lag === 0) return null;
  const way = `${plain((1000 * Math.abs(lag)) / sampleRate, 2)} ms ${lag > 0 ? 'earlier' : 'later'}`;
  return {
    label: `Move its tracks ${way}`,
    step: `move the tracks of ${name} ${way}`,
    edit: (s) => movedEarlier(s, id, lag / sampleRate),
  };
};
