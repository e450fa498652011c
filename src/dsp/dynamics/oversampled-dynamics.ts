import { StereoDelay } from '../core/delay-line.ts';
import type { Parameters, Values } from '../core/parameter.ts';
import { CONTROL_FRAMES, type Kernel, type KeySignal } from '../core/processor.ts';
import { Oversampler, oversamplingLatency } from '../distortion/oversampling.ts';
import { ReductionHistory } from './reduction-history.ts';

/** A dynamics kernel that reports its gain reduction, dB, 0 or more, at the end of the last frames. */
interface Dynamics<P extends Parameters> extends Kernel<P> {
  readonly reductionDb: number;
}

/** Two channels raised to a higher rate. */
class Raised implements KeySignal {
  private readonly oversamplers: readonly [Oversampler, Oversampler];

  constructor(factor: number, sampleRate: number) {
    this.oversamplers = [new Oversampler(factor, sampleRate), new Oversampler(factor, sampleRate)];
  }

  get left(): Float64Array {
    return this.oversamplers[0].samples;
  }

  get right(): Float64Array {
    return this.oversamplers[1].samples;
  }

  up(left: Float64Array, right: Float64Array, start: number, end: number): void {
    this.oversamplers[0].up(left, start, end);
    this.oversamplers[1].up(right, start, end);
  }

  down(left: Float64Array, right: Float64Array, frames: number): void {
    this.oversamplers[0].down(left, frames);
    this.oversamplers[1].down(right, frames);
  }

  reset(): void {
    for (const oversampler of this.oversamplers) oversampler.reset();
  }
}

/**
 * A gain-reducing kernel run at a multiple of the rate, so that a gain which follows single waves does not alias its
 * harmonics into the audible band. The output is the delayed input plus the kernel's change, brought
 * back to the rate: x + down(y - up(x)). While the kernel changes nothing it is a wire, bit for bit.
 */
export class OversampledDynamics<P extends Parameters> implements Kernel<P> {
  readonly history = new ReductionHistory();
  private readonly sound: Raised;
  private readonly key: Raised;
  /** The input at both rates, delayed like the kernel's output. */
  private readonly dry: StereoDelay;
  private readonly raisedDry: StereoDelay;
  private readonly raisedLeft: Float64Array;
  private readonly raisedRight: Float64Array;
  private readonly changeLeft = new Float64Array(CONTROL_FRAMES);
  private readonly changeRight = new Float64Array(CONTROL_FRAMES);
  /** Settings that wait for the next control block. */
  private next: Values<P> | null = null;
  /** Frames of the kernel's own control block already done. */
  private phase = 0;

  /**
   * @param kernel made for `factor` times the rate, late by `factor` times `latency`
   * @param factor 2, 4 or 8
   * @param latency frames of the kernel's own latency
   */
  constructor(
    private readonly kernel: Dynamics<P>,
    private readonly factor: number,
    latency: number,
    sampleRate: number,
  ) {
    this.sound = new Raised(factor, sampleRate);
    this.key = new Raised(factor, sampleRate);
    this.dry = new StereoDelay(oversamplingLatency(factor, sampleRate) + latency);
    this.raisedDry = new StereoDelay(factor * latency);
    this.raisedLeft = new Float64Array(factor * CONTROL_FRAMES);
    this.raisedRight = new Float64Array(factor * CONTROL_FRAMES);
  }

  set(values: Values<P>): void {
    this.next = values;
  }

  control(): void {
    this.history.note(this.kernel.reductionDb);
    if (this.next) this.kernel.set(this.next);
    this.next = null;
  }

  process(left: Float64Array, right: Float64Array, start: number, end: number, key: KeySignal | null): void {
    const { sound, raisedLeft, raisedRight, changeLeft, changeRight } = this;
    const frames = end - start;
    const count = this.factor * frames;
    sound.up(left, right, start, end);
    if (key) this.key.up(key.left, key.right, start, end);
    this.raisedDry.process(sound.left, sound.right, raisedLeft, raisedRight, 0, count);
    this.run(count, key !== null);
    for (let i = 0; i < count; i++) {
      sound.left[i]! -= raisedLeft[i]!;
      sound.right[i]! -= raisedRight[i]!;
    }
    sound.down(changeLeft, changeRight, frames);
    this.dry.process(left, right, left, right, start, end);
    for (let k = 0; k < frames; k++) {
      left[start + k]! += changeLeft[k]!;
      right[start + k]! += changeRight[k]!;
    }
  }

  reset(): void {
    if (this.next) this.kernel.set(this.next);
    this.next = null;
    this.kernel.reset();
    this.sound.reset();
    this.key.reset();
    this.dry.reset();
    this.raisedDry.reset();
    this.history.reset();
    this.phase = 0;
  }

  /** Runs the kernel over the raised sound in place, in its own control blocks. */
  private run(count: number, keyed: boolean): void {
    const { kernel, sound } = this;
    for (let at = 0; at < count;) {
      if (this.phase === 0) kernel.control();
      const to = Math.min(count, at + CONTROL_FRAMES - this.phase);
      kernel.process(sound.left, sound.right, at, to, keyed ? this.key : null);
      this.phase = (this.phase + to - at) % CONTROL_FRAMES;
      at = to;
    }
  }
}
