import { faderGain } from '../../dsp/core/fader-gain.ts';
import { scaled, type GainMatrix } from '../../dsp/core/gain-matrix.ts';
import type { PreparedLine } from '../../dsp/core/line.ts';
import type { MovingGains } from '../../dsp/core/moving-gains.ts';
import type { MovedSetting } from '../../session/chain/moved-settings.ts';

/** How a signal enters a strip: what stands still of its gains, and the lines after that. */
export interface FeedGains {
  readonly gains: GainMatrix;
  readonly moving?: MovingGains;
}

const linesIn = (settings: readonly MovedSetting[]): PreparedLine[] =>
  settings.flatMap(({ line }) => (line ? [line] : []));

/** Linear gain of a level, dB, that stands; one that a line moves is 1 here, and works as a line. */
export const stillGain = ({ first, line }: MovedSetting): number => (line ? 1 : faderGain(first));

/** True for a switch that is off from beginning to end. */
export const isNeverOn = ({ first, line }: MovedSetting): boolean => first === 0 && line === null;

/** What moves among levels (dB), switches and a pan, where anything does. */
export const movesOf = (
  levels: readonly MovedSetting[],
  switches: readonly MovedSetting[],
  pan?: MovingGains['pan'],
): Pick<FeedGains, 'moving'> => {
  const moving = { levels: linesIn(levels), switches: linesIn(switches), ...(pan && { pan }) };
  return moving.levels.length + moving.switches.length > 0 || pan ? { moving } : {};
};

/** A signal after one more level, such as that of a send. */
export const behindLevel = <F extends FeedGains>(feed: F, level: MovedSetting): F => {
  const gains = scaled(feed.gains, stillGain(level));
  if (!level.line) return { ...feed, gains };
  const { levels = [], switches = [], pan } = feed.moving ?? {};
  return { ...feed, gains, moving: { levels: [...levels, level.line], switches, ...(pan && { pan }) } };
};
