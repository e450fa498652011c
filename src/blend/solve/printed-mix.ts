import type { Figures } from '../../measure/figures.ts';
import { checkGuards, type Guarded, type GuardResult } from '../guards/guards.ts';
import type { BlendSpace } from './blend-space.ts';

/** A mix that was rendered and printed. */
export interface PrintedMix {
  /** Its paths, at its gains. */
  readonly space: BlendSpace;
  /** Of the print. */
  readonly figures: Figures;
  /** The figures of the print that guards read, as in `check`. */
  readonly guarded: Guarded;
}

/** Functions that the solver needs from its caller. */
export interface SolveHost {
  /** The session as given with these blends, dB by bus, rendered and printed. */
  readonly print: (blends: ReadonlyMap<string, number>) => Promise<PrintedMix>;
  /** Called with every print; first with that of the session unchanged. */
  readonly onPrint?: (tried: Tried) => void;
  /** Called between steps of the search; rejects to stop. */
  readonly pace: () => Promise<void>;
}

/** One print of the search and its blends. */
export interface Tried extends PrintedMix {
  readonly settings: readonly number[];
  readonly guards: readonly GuardResult[];
}

/** A print with the results of its guards. */
export const triedOf = (mix: PrintedMix, settings: readonly number[]): Tried => ({
  ...mix,
  settings,
  guards: checkGuards(mix.space.guards, mix.guarded, mix.space.references),
});

/** The value that a guard must keep: its limit, or its value at the start where it was broken then. */
export const allowedValue = ({ limit, value, pass }: GuardResult): number => (pass ? limit : value!);

/** A blend as it is written, dB. */
export const writtenDb = (db: number): number => Number(db.toFixed(3));
