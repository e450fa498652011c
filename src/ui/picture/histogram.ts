import { scalesFor, type Frame, type Ranges } from '../../files/page/picture-geometry.ts';
import type { LevelHistogram } from '../../render/reduction.ts';

/** The tallest bar of a histogram takes this share of the height. */
const TALLEST = 0.45;

/** How often a level stands at each place across, as bars from the floor. */
export const histogramPath = (picture: Ranges, { lowDb, shares }: LevelHistogram, frame: Frame): string => {
  const { x } = scalesFor(picture, frame);
  const most = Math.max(...shares);
  if (!(most > 0)) return '';
  const floor = frame.height - frame.bottom;
  const tall = (TALLEST * (floor - frame.top)) / most;
  const tenth = (px: number): number => Math.round(px * 10) / 10;
  return shares
    .map((share, n) => `H${tenth(x(lowDb + n))}V${tenth(floor - tall * share)}H${tenth(x(lowDb + n + 1))}`)
    .reduce((path, bar) => path + bar, `M${tenth(x(lowDb))} ${floor}`)
    .concat(`V${floor}Z`);
};
