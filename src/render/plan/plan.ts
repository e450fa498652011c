import type { ChainStep } from '../../dsp/core/chain.ts';
import { isSameMovingLevel, type MovingLevel } from '../../dsp/core/moving-gains.ts';
import type { StripSpec } from '../../dsp/core/strip.ts';

/** Where a strip's input comes from. */
export interface NodeRef {
  readonly kind: 'source' | 'strip';
  /** Track id of a source (or ROUGH), or id of a strip. */
  readonly id: string;
}

/** Id of the strip that is a track with its level at 0 dB, for sends that are taken there; no track can have it. */
export const preFader = (track: string): string => `${track}:pre-fader`;

/** The source of which a strip that is no path is the sound after a chain. */
export const sourceOf = (strip: string): string => strip.replace(/:pre-fader$/, '');

/** The sound of a track or the rough, placed in the song. */
export interface PlanSource {
  readonly id: string;
  /** First frame in the song; negative starts inside the file. */
  readonly startFrame: number;
  /** Length of the file at the song's rate, frames. */
  readonly frames: number;
}

/** One strip: a group, a bus, or a track (or the rough) that has a chain of its own. */
export interface PlanStrip {
  readonly id: string;
  readonly spec: StripSpec;
  /** What feeds the inputs, then the key inputs, of the spec, in order. */
  readonly from: readonly NodeRef[];
  /** Latency at the strip's output, counted from the song's start, whole samples. */
  readonly latency: number;
  /** Names all that the strip's sound depends on; equal key, equal sound. */
  readonly key: string;
}

/** What one group (direct) or one bus (return) gives to the mix. */
export interface PlanPath {
  readonly id: string;
  readonly kind: 'group' | 'bus';
  /** Fader or blend, linear; 0 at −∞ dB or when switched off; of one that lines move, the loudest. Never part of the rendered path. */
  readonly gain: number;
  /** Lines of its level and switch, of which `gain` is the reference: they are part of the path, and not of its strip. */
  readonly moving?: MovingLevel;
}

/** Trim and chain after the sum. */
export interface PlanMixBus {
  readonly trimGain: number;
  /** Line of the trim, of which `trimGain` is the reference. */
  readonly moving?: MovingLevel;
  readonly steps: readonly ChainStep[];
}

/** Whether the mix bus does the same in two plans. */
export const isSameMixBus = (a: PlanMixBus, b: PlanMixBus): boolean =>
  a.steps === b.steps && a.trimGain === b.trimGain && isSameMovingLevel(a.moving, b.moving);

/**
 * A session turned into what must be computed, as plain data: strips in an order in which every strip comes after
 * what feeds it. Two executors realise it: the Web Audio graph and the direct one.
 */
export interface Plan {
  readonly sampleRate: number;
  /** Length of the song without tails, frames. */
  readonly songFrames: number;
  /** Length until the last tail has died away, that of the mix bus too, frames. */
  readonly soundFrames: number;
  /** True when a tail is longer than is rendered: prints then fade out at their end. */
  readonly tailCut: boolean;
  /** Length of every rendered path, frames: `soundFrames` rounded up coarsely, so that a longer tail spares the cache. */
  readonly frames: number;
  readonly sources: readonly PlanSource[];
  readonly strips: readonly PlanStrip[];
  /** Groups first, then buses, in the session's order; a path is the strip of the same id. */
  readonly paths: readonly PlanPath[];
  readonly mixBus: PlanMixBus;
}
