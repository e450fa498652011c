import type { Figures } from '../../measure/figures.ts';
import type { GuardResult } from '../guards/guards.ts';
import type { Target } from './solve-target.ts';

/** How far a blend may be moved, dB. */
export interface BlendLimits {
  readonly low: number;
  readonly high: number;
}

/** How far blends may be moved: each by so much from its start, except those with limits of their own. */
export interface Reach {
  /** dB, either way. */
  readonly withinDb: number;
  readonly limits: ReadonlyMap<string, BlendLimits>;
}

/** How far a blend may be moved from its start by default, dB: keeps the artist's balance. */
export const USUAL_REACH_DB = 6;
/** Limits of all blends, dB, however far they may be moved: from hardly heard to 6 dB louder than what they double. */
export const USUAL_LIMITS: BlendLimits = { low: -48, high: 6 };

/** Result of one target. */
export interface TargetResult {
  readonly figure: string;
  readonly wanted: Target['wanted'];
  readonly before: number | null;
  readonly after: number | null;
  readonly met: boolean;
}

/** A print on the way to a solution. */
export interface SolveStep {
  /** The figure of each target, in their order: null where the print has no such figure. */
  readonly values: readonly (number | null)[];
  /** Whether each is met there. */
  readonly met: readonly boolean[];
  /** Names of guards that it breaks. */
  readonly broken: readonly string[];
}

/** A bus whose blend was free to move. */
export interface BlendMove {
  readonly id: string;
  readonly name: string;
  readonly fromDb: number;
  readonly toDb: number;
  readonly movedDb: number;
  /** It stands at an end of its limits. */
  readonly atLimit: 'low' | 'high' | null;
}

export interface SolvedGuard extends GuardResult {
  /** Its value is at its limit, or at its start value where it was broken then, and stopped the search. */
  readonly active: boolean;
  /** It was broken before anything was moved: it may only get better. */
  readonly brokenAtStart: boolean;
  /** Its value before anything was moved. */
  readonly before: number | null;
}

/** The blends that were found, and their results. Figures are those of the print; the balance is that of its paths. */
export interface Solution {
  /** By bus, dB. */
  readonly blends: ReadonlyMap<string, number>;
  /** Linear, of all paths. */
  readonly gains: readonly number[];
  readonly before: Figures;
  readonly after: Figures;
  /** All targets are met, and no guard is broken that was not before. */
  readonly met: boolean;
  readonly targets: readonly TargetResult[];
  readonly guards: readonly SolvedGuard[];
  readonly moves: readonly BlendMove[];
  /** How far blends could be moved that had no limits of their own, dB. */
  readonly withinDb: number;
  /** Blends that were measured on the way, and prints. */
  readonly queries: number;
  readonly prints: number;
}
