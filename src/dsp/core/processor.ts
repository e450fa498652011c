import type { StereoSound } from '../../audio/audio.ts';
import type { Arrival } from './arrival.ts';
import type { Parameters, Settings, Values } from './parameter.ts';
import type { AddedHandle, PictureHandle } from './picture-handle.ts';

/**
 * Frames between two readings of the parameters. Kernels change coefficients and start gain ramps only on this grid,
 * counted from the first frame, so that the sound never depends on the block length of the host.
 */
export const CONTROL_FRAMES = 64;

/** The key input: a second stereo signal that a kernel may follow, aligned with its own input. */
export interface KeySignal {
  readonly left: Float64Array;
  readonly right: Float64Array;
}

/** Gain reduction of a processor over time, one point per stretch of blocks; see ReductionHistory. */
export interface GainReductionTrace {
  /** Points since the start. */
  readonly count: number;
  /** Copies the newest points, dB, 0 or more, oldest first, as many as fit. Returns how many. */
  read(into: Float32Array): number;
}

/** The running part of a processor: two channels, in place, in double precision. Never allocates or throws while running. */
export interface Kernel<P extends Parameters = Parameters> {
  /** Gain reduction over time, for drawing; of processors that reduce gain by level. */
  readonly history?: GainReductionTrace;
  /** New targets; takes effect, smoothed, from the next control block. Latency must not change (make a new kernel). */
  set(values: Values<P>): void;
  /** Starts a control block of CONTROL_FRAMES: moves ramps on, computes coefficients, flushes vanishing state to 0. */
  control(): void;
  /** Processes frames start..end-1 of both channels in place; never crosses a control block. */
  process(left: Float64Array, right: Float64Array, start: number, end: number, key: KeySignal | null): void;
  /** Back to the state after construction with the current targets, ramps settled. */
  reset(): void;
}

/** A curve that shows what settings do, from the same mathematics as the kernel. */
export interface Picture<P extends Parameters = Parameters> {
  /** frequency: x in Hz, y in dB; level: x in dB, y in dB; transfer: x and y in samples; time: x in seconds, y in dB. */
  readonly kind: 'frequency' | 'level' | 'transfer' | 'time';
  readonly x: readonly [number, number];
  readonly y: readonly [number, number];
  /** stems draws each point from the floor (echoes), area fills below the line (decay). */
  readonly drawn: 'line' | 'stems' | 'area';
  /** Points (x, y) for the settings, in x order, at most `count` of them. */
  points(values: Values<P>, sampleRate: number, count: number): readonly (readonly [number, number])[];
  /** Draggable handles for these settings, and for a sound of this length if it uses one; absent: none. */
  handles?(values: Values<P>, sampleRate: number, soundSeconds?: number): readonly PictureHandle[];
  /** Output sample for an input sample, for memoryless processors: harmonics are computed from it. */
  transfer?(values: Values<P>, sample: number): number;
  /** The new handle for a position in the picture's units; null: none is free. */
  add?(values: Values<P>, place: readonly [number, number]): AddedHandle | null;
}

/**
 * Complete definition of one processor: schema, editor, command-line help, worklet and
 * contract tests follow from it. The defaults of its parameters are its neutral settings: a processor with no settings is a wire.
 */
export interface Processor<P extends Parameters = Parameters> {
  readonly id: string;
  readonly label: string;
  /** Its purpose in one sentence. */
  readonly about: string;
  readonly parameters: P;
  /** Settings that a newly added one takes on the screen, so that it is heard at once. */
  readonly start: Settings;
  /** Label of the sound file that it uses ("Impulse response"); absent: it uses none. */
  readonly sound?: string;
  /** Delay from input to output, whole samples. */
  latency(values: Values<P>, sampleRate: number): number;
  /** Samples after the end of the input (latency not counted) until the output stays below -120 dB of the input's peak. */
  tail(values: Values<P>, sampleRate: number, sound?: StereoSound | null): number;
  /** Delay and polarity of its output, latency not counted; absent: no delay, polarity unchanged. */
  arrival?(values: Values<P>, sampleRate: number, sound?: StereoSound | null): Arrival;
  /** True when it uses the key input with these values. */
  listensToKey?(values: Values<P>): boolean;
  /**
   * True if these values change loud and quiet sound differently, whatever its thresholds are: the result then depends
   * on the input level, as with a saturation curve.
   */
  driven?(values: Values<P>): boolean;
  readonly picture: Picture<P>;
  createKernel(values: Values<P>, sampleRate: number, sound?: StereoSound | null): Kernel<P>;
}

/** Keeps the exact parameter names of a definition while it is checked against the interface. */
export const defineProcessor = <P extends Parameters>(processor: Processor<P>): Processor<P> => processor;
