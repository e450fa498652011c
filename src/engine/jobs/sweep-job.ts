import type { QueryPath } from '../../blend/gram/make-blend-query.ts';
import type { SweepAxis, SweepPoint } from '../../blend/sweep/sweep.ts';
import type { Audio } from '../../audio/audio.ts';
import type { PlanMixBus } from '../../render/plan.ts';
import type { Session } from '../../session/schema.ts';
import type { Frames } from '../excerpt.ts';

/** What mixes are held against over a section: that stretch of it. */
export interface StretchSounds {
  readonly rough: Audio | null;
  /** The groups as received; empty where none sounds there. */
  readonly received: readonly QueryPath[];
}

/** Which stretch a sweep is of. */
export interface SweepBeginning {
  /** null: the whole song. */
  readonly frames: Frames | null;
  /** null: what the whole song is held against, which is known already. */
  readonly sounds: StretchSounds | null;
}

/** What one render answers of a sweep. */
export interface SweepRound {
  readonly axis: SweepAxis;
  readonly second: SweepAxis | undefined;
  /** The places that sound as this render does; null: all of them, and the marks between. */
  readonly points: readonly SweepPoint[] | null;
  /** The session with the swept buses on, at the blends of the render. */
  readonly session: Session;
  /** Linear; 0 for a swept bus that is off. */
  readonly gains: readonly (readonly [string, number])[];
  readonly mixBus: PlanMixBus;
  /** Length until the last tail has died away, frames: of the mix as it stands, and of the render. */
  readonly standingFrames: number;
  readonly soundFrames: number;
  /** The paths that sound otherwise than in the round before, over the stretch. */
  readonly sounds: readonly QueryPath[];
}

/** A part of a sweep with all that it takes to answer it: plain data, which crosses into the worker. */
export interface SweepJob {
  /** null: the sweep goes on that was begun before. */
  readonly begin: SweepBeginning | null;
  readonly round: SweepRound;
  /** Nothing of the sweep is kept behind it. */
  readonly isLast: boolean;
}
