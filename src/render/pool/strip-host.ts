import { isSilent } from '../../audio/silence.ts';
import { restoreState, stateOf, type RunningState } from '../../dsp/core/running-state.ts';
import { Strip, type InputChannels, type StripSpec } from '../../dsp/core/strip.ts';

/** Frames of a stretch: what a strip is run on by at once, and after which another host may go on with it. */
export const STRETCH_FRAMES = 32_768;

/** Frames handed to a strip at once; the sound does not depend on it. */
const BLOCK_FRAMES = 2048;

/** How a strip begins in a host: from the start of the song, or where another host has left it. */
export interface StripStart {
  readonly spec: StripSpec;
  /** Hz. */
  readonly sampleRate: number;
  readonly state: RunningState | null;
  /** The frame of its own time that comes next. */
  readonly from: number;
}

/** Two sides of as many frames. */
export interface StereoStretch {
  readonly left: Float32Array;
  readonly right: Float32Array;
}

/** One stretch of a strip's output; null: silence. */
export type Stretch = StereoStretch | null;

/** What a host has made of a stretch, and arrays that it was given and needs no more. */
export interface RunAnswer {
  readonly stretch: Stretch;
  readonly spent: readonly Float32Array[];
}

/** What may be asked of a host, from the same thread or another one. Strips go by numbers. */
export interface StripHosting {
  /** Begins a strip, or takes it over. */
  begin(strip: number, start: StripStart): void;
  /** Runs it on by `frames`, into arrays that may be longer; `inputs` hold that stretch of each of its inputs, none: silence. */
  run(strip: number, inputs: readonly InputChannels[], frames: number, out: StereoStretch): RunAnswer;
  /** Ends it here and returns its state, with which it goes on elsewhere. */
  leave(strip: number): RunningState;
  drop(strips: readonly number[]): void;
}

/** Runs strips stretch by stretch. */
export class StripHost implements StripHosting {
  private readonly strips = new Map<number, Strip>();

  begin(strip: number, { spec, sampleRate, state, from }: StripStart): void {
    const running = new Strip(spec, sampleRate, BLOCK_FRAMES);
    if (state) restoreState(running, state);
    else running.seek(from);
    this.strips.set(strip, running);
  }

  run(strip: number, inputs: readonly InputChannels[], frames: number, out: StereoStretch): RunAnswer {
    const running = this.strips.get(strip)!;
    const { left, right } = out;
    for (let at = 0; at < frames; at += BLOCK_FRAMES)
      running.process(inputs, left, right, at, Math.min(BLOCK_FRAMES, frames - at));
    const isHeard = !isSilent(left, 0, frames) || !isSilent(right, 0, frames);
    return { stretch: isHeard ? out : null, spent: isHeard ? inputs.flat() : [...inputs.flat(), left, right] };
  }

  leave(strip: number): RunningState {
    const state = stateOf(this.strips.get(strip)!);
    this.strips.delete(strip);
    return state;
  }

  drop(strips: readonly number[]): void {
    for (const strip of strips) this.strips.delete(strip);
  }
}
