import type { ChainStep } from '../dsp/core/chain.ts';
import type { MovingLevel } from '../dsp/core/moving-gains.ts';
import type { RunningState } from '../dsp/core/running-state.ts';
import type { StripSpec } from '../dsp/core/strip.ts';
import type { LoopFrames, PlayedSound } from './played-sound.ts';

/** What feeds a live strip: a rendered sound, or the strip at this place in the rig. */
export type LiveFeed =
  /** Read this many frames ahead of where the paths are in the song. */
  { readonly sound: PlayedSound; readonly ahead: number } | { readonly strip: number };

/** A strip that runs while it is heard, from the state that it has where it starts. */
export interface LiveStripStart {
  /** Its name in the plan; where it is a path, that of the path. */
  readonly id: string;
  readonly spec: StripSpec;
  /** What feeds its inputs, then its key inputs. */
  readonly from: readonly LiveFeed[];
  /** How far its output is held back to meet the other paths, frames. */
  readonly heldBack: number;
  /** Lines of the path's level: a part of what is heard of it, and not of what it feeds. */
  readonly moving?: MovingLevel;
  readonly state: RunningState;
}

/** Strips that run live, each after those that feed it, from one moment on. */
export interface RigStart {
  /** Another one for another rig. */
  readonly number: number;
  /** Where the paths are in the song when it starts, frames. */
  readonly place: number;
  /** How far the strips' own time runs ahead of the paths, frames. */
  readonly ahead: number;
  readonly strips: readonly LiveStripStart[];
}

/** Where playing is, as the audio thread knows it. */
export interface Whereabouts {
  /** Where the paths are in the song, frames; null: nothing plays. */
  readonly place: number | null;
  /** The loop that it is in. */
  readonly loop: LoopFrames | null;
  /** False: it only answers where it is; true: it has just begun, jumped or ended. */
  readonly moved: boolean;
}

/** What the engine's worker tells the player of live strips. */
export type LiveOrder =
  | { readonly rig: RigStart }
  /** New steps of strips, by their place in the rig of this number, as the session's edition of this number has them. */
  | {
      readonly move: readonly (readonly [strip: number, steps: readonly ChainStep[]])[];
      readonly number: number;
      readonly edition: number;
    }
  /** Back to the rendered paths, as soon as these sounds are what plays of them. */
  | { readonly leave: readonly (readonly [path: string, sound: number])[]; readonly number: number }
  | { readonly locate: true };

/**
 * Chains that an edit changed, straight from the page: what runs live moves before the engine's worker has heard of it. The worker tells the
 * same moves later; of two, that of the later edition holds.
 */
export interface DirectMoves {
  readonly edition: number;
  /** New steps, by the names of strips in the plan. */
  readonly chains: readonly (readonly [strip: string, steps: readonly ChainStep[]])[];
}

/** What the player tells the engine's worker. `missed`: it came too late for its place; `gone`: it has ended. */
export type LiveReport =
  | { readonly whereabouts: Whereabouts }
  | { readonly rig: number; readonly became: 'live' | 'missed' | 'gone' };
