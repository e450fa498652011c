/**
 * What can be heard against each other: the rough as received, the tracks as received (no chains, no buses), the mix in
 * hand, a saved pass, or the current mix without one of its paths.
 */
export type Heard = 'rough' | 'received' | 'mix' | `pass:${string}` | `without:${string}`;

const rest = (heard: Heard, start: string): string | null =>
  heard.startsWith(start) ? heard.slice(start.length) : null;

/** Id of the pass that a side is; null: it is none. */
export const passIn = (heard: Heard): string | null => rest(heard, 'pass:');

/** Id of the path that a side leaves out of the mix; null: it leaves out none. */
export const leftOut = (heard: Heard): string | null => rest(heard, 'without:');

/** A side with sound of its own; the mix without a path is played as the mix with one blend at −∞. */
export type Sounding = Exclude<Heard, `without:${string}`>;

export const soundingOf = (heard: Heard): Sounding => (leftOut(heard) === null ? (heard as Sounding) : 'mix');
