import type { Figures } from '../../measure/figures.ts';
import { warning, type Effect, type Warning } from './warning.ts';

/** Tracks quieter than this are told, LUFS (common practice: some tracks are quiet, few are this quiet). */
const QUIETEST = -50;
/** True peaks above this are told, dBTP. */
const HIGHEST = 0;
/** A quiet track is brought up to here, LUFS. */
const BROUGHT_TO = -30;

/** A level, and what a gain makes of it. */
const raised = (figure: string, unit: string, level: number, gainDb: number): Effect => {
  const [before, after] = [level, level + gainDb].map((db) => `${db.toFixed(1).replace('-', '−')} ${unit}`);
  return { figure, before: before!, after: after! };
};

/** What the figures of a file tell. */
export const levelChecks = ({
  truePeakDbtp,
  integratedLufs,
}: Pick<Figures, 'truePeakDbtp' | 'integratedLufs'>): Warning[] => [
  ...(truePeakDbtp !== null && truePeakDbtp > HIGHEST
    ? [
        warning(
          'over-full-scale',
          `Its true peak is ${truePeakDbtp.toFixed(1)} dBTP, over full scale: a converter clips it.`,
          'Lower it; in this program nothing is lost by it.',
          { kind: 'gain', db: -Math.ceil(truePeakDbtp + 1) },
          false,
          raised('true peak', 'dBTP', truePeakDbtp, -Math.ceil(truePeakDbtp + 1)),
        ),
      ]
    : []),
  ...(integratedLufs !== null && integratedLufs < QUIETEST
    ? [
        warning(
          'very-quiet',
          `It is very quiet: ${integratedLufs.toFixed(1)} LUFS.`,
          'Check that it is the right file; raise it.',
          { kind: 'gain', db: Math.min(24, Math.round(BROUGHT_TO - integratedLufs)) },
          false,
          raised('loudness', 'LUFS', integratedLufs, Math.min(24, Math.round(BROUGHT_TO - integratedLufs))),
        ),
      ]
    : []),
];
