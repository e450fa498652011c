import type { BlendEssentials } from '../gram/blend-figures.ts';

/** Third octaves this far below the loudest, dB, are left out: a change there is hardly heard (common practice). */
const HEARD_DB = 40;

/** A change of level that is noticed in a mix, dB: the smallest audible one is put at 0.5 to 1 dB (common practice). */
const AUDIBLE_DB = 1;

export const AUDIBLE_RULE =
  'the loudness, or the level of a third octave within 40 dB of the loudest, differs by 1 dB or more from the mix without the bus (common practice: the smallest change of level that is heard is 0.5 to 1 dB)';

/** Whether the change from one blend to another is heard, by AUDIBLE_RULE. */
export const isAudible = (before: BlendEssentials, after: BlendEssentials): boolean => {
  const [first, second] = [before.integratedLufs, after.integratedLufs];
  if ((first === null) !== (second === null)) return true;
  if (first !== null && Math.abs(second! - first) >= AUDIBLE_DB) return true;
  const loudest = Math.max(...[...before.bands, ...after.bands].map(({ levelDb }) => levelDb ?? -Infinity));
  const floor = loudest - HEARD_DB;
  return before.bands.some(({ levelDb }, n) => {
    const later = after.bands[n]!.levelDb ?? -Infinity;
    const earlier = levelDb ?? -Infinity;
    if (Math.max(earlier, later) < floor) return false;
    return Math.abs(Math.max(later, floor) - Math.max(earlier, floor)) >= AUDIBLE_DB;
  });
};
