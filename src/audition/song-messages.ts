import type { PlanMixBus } from '../render/plan/plan.ts';
import type { Heard } from './heard.ts';
import type { DirectMoves } from './live-messages.ts';
import type { MonitorCheck } from './monitor-check.ts';
import type { Reading } from './song-meters.ts';
import type { LoopFrames, Program } from './played-sound.ts';

/** Name under which the worklet is registered. */
export const SONG_PROCESSOR = 'tributary-song';

/** Gains, linear: of paths in the mix, and of the sides that are heard. */
export interface Gains {
  readonly paths: ReadonlyMap<string, number>;
  readonly sides: ReadonlyMap<Heard, number>;
}

/** What the page tells the worklet. */
export type SongMessage =
  /** Where stretches come from. */
  | { readonly kind: 'feed'; readonly port: MessagePort }
  /** What is played from now on, at the same place. */
  | { readonly kind: 'program'; readonly program: Program | null }
  /** `throughSilence`: through a short silence. */
  | { readonly kind: 'gains'; readonly gains: Gains; readonly throughSilence: boolean }
  | { readonly kind: 'mix bus'; readonly mixBus: PlanMixBus }
  | { readonly kind: 'moves'; readonly moves: DirectMoves }
  | { readonly kind: 'check'; readonly check: MonitorCheck | null }
  | { readonly kind: 'loop'; readonly loop: LoopFrames | null }
  /** Plays from a frame of the song; `jump` numbers this, and is told once it plays there. */
  | { readonly kind: 'play'; readonly place: number; readonly jump: number }
  | { readonly kind: 'pause' }
  /** Whether meters are told. */
  | { readonly kind: 'metering'; readonly on: boolean }
  /** It is never played again. */
  | { readonly kind: 'end' };

/** From which moment on the song is heard from which place; frames of the audio clock, and of the song. */
export interface Anchor {
  readonly clock: number;
  readonly place: number;
  readonly loop: LoopFrames | null;
  /** The jump that it follows. */
  readonly jump: number;
}

/** What the worklet tells the page. */
export type SongReport =
  | { readonly kind: 'plays'; readonly anchor: Anchor }
  /** What is heard from this frame of the song on is not there yet: playing goes on from there once it is. `jump` as in `Anchor`. */
  | { readonly kind: 'waits'; readonly place: number; readonly jump: number }
  /** The song has been heard to its end. */
  | { readonly kind: 'ended' }
  /** Stretches that came too late, so that silence was played instead, since the start. */
  | { readonly kind: 'late stretches'; readonly count: number }
  | { readonly kind: 'meters'; readonly reading: Reading };
