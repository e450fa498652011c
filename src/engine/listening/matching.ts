import type { Heard } from '../engine.ts';

/** The matching of sides to one loudness. */
export interface Matching {
  /** Loudness to which all are turned down, LUFS; null: a level is not known yet. */
  readonly lufs: number | null;
  /** The same from the levels that are known; null: none is. */
  readonly turnedTo: number | null;
  /** Gain of each side, dB, 0 or below. */
  readonly downDb: ReadonlyMap<Heard, number>;
}

/**
 * Sides further below all compared sides than this are left out until they are chosen, LU: otherwise a mix without the one
 * path that carries most of its loudness would turn everything down too far.
 */
const FARTHEST_LU = 10;

/** The sides that are matched: those `compared`, and those of the `others` that can be switched to at that loudness. */
export const countedOf = (
  levels: ReadonlyMap<Heard, number | null>,
  compared: readonly Heard[],
  others: readonly Heard[],
): readonly Heard[] => {
  const floor = Math.min(...compared.map((side) => levels.get(side) ?? Infinity)) - FARTHEST_LU;
  return [...compared, ...others.filter((side) => (levels.get(side) ?? -Infinity) >= floor)];
};

/**
 * The common loudness is kept while the quietest side lies at most this far above it, LU, so that the monitor level
 * does not change with every edit.
 */
const STEADY_LU = 2;

/**
 * Turns sides down to the quietest of them, or to the loudness `before`; never up, as that could clip.
 * @param levels loudness of each side, LUFS; null where it has none (silent, too short), absent where it is not known
 * @param sides the compared sides
 * @param before their current common loudness, LUFS; null: none
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
