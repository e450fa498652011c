import type { Heard } from '../engine.ts';

/** How sides are brought to one loudness. */
export interface Matching {
  /** Loudness to which all are turned down, LUFS; null: a level is not known yet. */
  readonly lufs: number | null;
  /** The same going by what is known; null: nothing is. */
  readonly turnedTo: number | null;
  /** How far each side is turned down, dB, 0 or below. */
  readonly downDb: ReadonlyMap<Heard, number>;
}

/**
 * Sides further below all that is compared than this do not count before they are chosen, LU: else a mix without the one
 * path that carries it would turn everything down out of hearing.
 */
const FARTHEST_LU = 10;

/** What is brought to one loudness: what is `compared`, and of the `others` what can be flipped to at that loudness. */
export const countedOf = (
  levels: ReadonlyMap<Heard, number | null>,
  compared: readonly Heard[],
  others: readonly Heard[],
): readonly Heard[] => {
  const floor = Math.min(...compared.map((side) => levels.get(side) ?? Infinity)) - FARTHEST_LU;
  return [...compared, ...others.filter((side) => (levels.get(side) ?? -Infinity) >= floor)];
};

/**
 * The loudness that sides are turned down to stays while the quietest of them lies at most this far above it, LU: what is
 * heard does not get louder and softer with every edit.
 */
const STEADY_LU = 2;

/**
 * Turns sides down to the quietest among them, or to where they were turned down `before`; never up: that could clip.
 * @param levels loudness of each side, LUFS; null where it has none (silent, too short), absent where it is not known
 * @param sides what is compared
 * @param before loudness that they are at now, LUFS; null: none
 */
export const matchingOf = (
  levels: ReadonlyMap<Heard, number | null>,
  sides: readonly Heard[],
  before: number | null = null,
): Matching => {
  const loud = sides.map((side) => levels.get(side)).filter((level) => typeof level === 'number');
  const isKnown = loud.length > 0 && sides.every((side) => levels.has(side));
  if (loud.length === 0) return { lufs: null, turnedTo: null, downDb: new Map() };
  const quietest = Math.min(...loud);
  const isSteady = before !== null && before <= quietest && quietest <= before + STEADY_LU;
  const turnedTo = isSteady ? before : quietest;
  const down = sides.map((side) => [side, Math.min(0, turnedTo - (levels.get(side) ?? turnedTo))] as const);
  return { lufs: isKnown ? turnedTo : null, turnedTo, downDb: new Map(down) };
};
