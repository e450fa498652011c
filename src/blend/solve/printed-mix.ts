import type { Figures } from '../../measure/figures.ts';
import { checkGuards, type Guarded, type GuardResult } from '../guards/guards.ts';
import type { BlendSpace } from './blend-space.ts';

/** A mix that was rendered and printed. */
export interface PrintedMix {
  /** Its paths, at its gains. */
  readonly space: BlendSpace;
  /** Of the print. */
  readonly figures: Figures;
  /** The print as guards look at it, as `check` does. */
  readonly guarded: Guarded;
}

/** What the solver needs from its caller. */
export interface SolveHost {
  /** The session as given with these blends, dB by bus, rendered and printed. */
  readonly print: (blends: ReadonlyMap<string, number>) => Promise<PrintedMix>;
  /** Told of every print, the session as it is first. */
  readonly onPrint?: (tried: Tried) => void;
  /** Called between steps of the search; rejects to stop. */
  readonly pace: () => Promise<void>;
}

/** One print on the way, and where its blends stand. */
export interface Tried extends PrintedMix {
  readonly settings: readonly number[];
  readonly guards: readonly GuardResult[];
}

/** A print with the guards as they stand there. */
export const triedOf = (mix: PrintedMix, settings: readonly number[]): Tried => ({
  ...mix,
  settings,
  guards: checkGuards(mix.space.guards, mix.guarded, mix.space.references),
});

/** What a guard must keep: its limit, or what it was where it was broken before anything was moved. */
export const keptValue = ({ limit, value, pass }: GuardResult): number => (pass ? limit : value!);

/** A blend as it is written, dB. */
export const writtenDb = (db: number): number => Number(db.toFixed(3));
