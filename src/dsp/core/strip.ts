import { Chain, type ChainStep, type StepPlace } from './chain.ts';
import { StereoDelay } from './delay-line.ts';
import { inTurn, type GainMatrix } from './gain-matrix.ts';
import { fillMovingGain, isSameMoving, panAt, type MovingGains } from './moving-gains.ts';
import type { Values } from './parameter.ts';
import { CONTROL_FRAMES, type GainReductionTrace, type KeySignal } from './processor.ts';
import { restoreState, stateOf } from './running-state.ts';

/** How one signal enters a strip. */
export interface StripInput {
  readonly gains: GainMatrix;
  /** Lines that its gains follow beside that; absent: they do not move. */
  readonly moving?: MovingGains;
  /** Delay of this input, samples, with which all inputs are aligned. */
  readonly delay: number;
}

/** What a strip is: inputs that are summed, an optional summed key, and a chain. Plain data: it crosses into the worklet. */
export interface StripSpec {
  readonly inputs: readonly StripInput[];
  readonly keyInputs: readonly StripInput[];
  readonly steps: readonly ChainStep[];
  /** Latency at the sum of the inputs, whole samples: its frame n is frame n - arrival of the song. Absent: 0. */
  readonly arrival?: number;
  /** Frame of the summed inputs after which there is no new sound; absent: not known. */
  readonly soundEnd?: number;
}

const isSameInput = (a: StripInput, b: StripInput | undefined): boolean =>
  a.delay === b?.delay &&
  isSameMoving(a.moving, b.moving) &&
  a.gains.leftToLeft === b.gains.leftToLeft &&
  a.gains.leftToRight === b.gains.leftToRight &&
  a.gains.rightToLeft === b.gains.rightToLeft &&
  a.gains.rightToRight === b.gains.rightToRight;

const areSameInputs = (a: readonly StripInput[], b: readonly StripInput[]): boolean =>
  a.length === b.length && a.every((input, n) => isSameInput(input, b[n]));

/** Channels of one input for one block: one (mono, heard on both sides), two, or none (silent). */
export type InputChannels = readonly Float32Array[];

class Summer {
  private readonly delays: readonly StereoDelay[];
  private readonly left: Float64Array;
  private readonly right: Float64Array;
  /** The moving gain of an input. */
  private readonly open: Float64Array;

  constructor(
    private readonly inputs: readonly StripInput[],
    private readonly sampleRate: number,
    maxFrames: number,
  ) {
    this.delays = inputs.map(({ delay }) => new StereoDelay(delay));
    this.left = new Float64Array(maxFrames);
    this.right = new Float64Array(maxFrames);
    this.open = new Float64Array(inputs.some(({ moving }) => moving) ? maxFrames : 0);
  }

  /** Sums frames offset.. of all inputs into frames 0..frames-1 of the target; the first of them is of frame `place` of the song. */
  process(
    channels: readonly InputChannels[],
    first: number,
    offset: number,
    frames: number,
    target: KeySignal,
    place: number,
  ): void {
    target.left.fill(0, 0, frames);
    target.right.fill(0, 0, frames);
    for (let n = 0; n < this.inputs.length; n++) {
      const source = channels[first + n];
      const delay = this.delays[n]!;
      if (!source?.[0]) {
        if (delay.samples === 0) continue;
        this.left.fill(0, 0, frames);
        this.right.fill(0, 0, frames);
      } else {
        this.widen(source[0], source[1] ?? source[0], offset, frames);
      }
      delay.process(this.left, this.right, this.left, this.right, 0, frames);
      const { gains, moving } = this.inputs[n]!;
      if (moving) this.addMoving(gains, moving, frames, target, place);
      else this.add(gains, frames, target);
    }
  }

  private widen(sourceLeft: Float32Array, sourceRight: Float32Array, offset: number, frames: number): void {
    const { left, right } = this;
    for (let i = 0; i < frames; i++) {
      left[i] = sourceLeft[offset + i]!;
      right[i] = sourceRight[offset + i]!;
    }
  }

  private add(gains: GainMatrix, frames: number, target: KeySignal): void {
    const { leftToLeft, leftToRight, rightToLeft, rightToRight } = gains;
    const { left, right } = this;
    const { left: targetLeft, right: targetRight } = target;
    for (let i = 0; i < frames; i++) {
      const l = left[i]!;
      const r = right[i]!;
      targetLeft[i]! += leftToLeft * l + rightToLeft * r;
      targetRight[i]! += leftToRight * l + rightToRight * r;
    }
  }

  private addMoving(still: GainMatrix, moving: MovingGains, frames: number, target: KeySignal, place: number): void {
    const { left, right, open, sampleRate } = this;
    fillMovingGain(moving, sampleRate, place, frames, open);
    for (let i = 0; i < frames; i++) {
      left[i]! *= open[i]!;
      right[i]! *= open[i]!;
    }
    if (moving.pan) this.addPanned(still, moving.pan, frames, target, place);
    else this.add(still, frames, target);
  }

  /** The pan is evaluated where control blocks of the song begin, and interpolated linearly. */
  private addPanned(
    still: GainMatrix,
    pan: NonNullable<MovingGains['pan']>,
    frames: number,
    target: KeySignal,
    place: number,
  ): void {
    const { left, right } = this;
    for (let i = 0; i < frames;) {
      const block = Math.floor((place + i) / CONTROL_FRAMES) * CONTROL_FRAMES;
      const end = Math.min(frames, block + CONTROL_FRAMES - place);
      const from = inTurn(still, panAt(pan, block));
      const to = inTurn(still, panAt(pan, block + CONTROL_FRAMES));
      for (; i < end; i++) {
        const share = (place + i - block) / CONTROL_FRAMES;
        const l = left[i]!;
        const r = right[i]!;
        target.left[i]! +=
          (from.leftToLeft + share * (to.leftToLeft - from.leftToLeft)) * l +
          (from.rightToLeft + share * (to.rightToLeft - from.rightToLeft)) * r;
        target.right[i]! +=
          (from.leftToRight + share * (to.leftToRight - from.leftToRight)) * l +
          (from.rightToRight + share * (to.rightToRight - from.rightToRight)) * r;
      }
    }
  }

  reset(): void {
    for (const delay of this.delays) delay.reset();
  }
}

/**
 * Delays, scales and sums its inputs, then runs its chain: one strip is one worklet node in the browser, and the same
 * class runs directly elsewhere. Sums are double precision in a fixed order; single precision only at the edges.
 */
export class Strip {
  private readonly mainSum: Summer;
  private readonly keySum: Summer;
  private readonly hasKey: boolean;
  private readonly chain: Chain;
  private readonly main: KeySignal;
  private readonly key: KeySignal;
  private readonly inputCount: number;
  /** Frame of the song that the next frame of the summed inputs is of. */
  private place: number;

  constructor(
    private readonly spec: StripSpec,
    sampleRate: number,
    maxFrames: number,
  ) {
    this.mainSum = new Summer(spec.inputs, sampleRate, maxFrames);
    this.keySum = new Summer(spec.keyInputs, sampleRate, maxFrames);
    this.hasKey = spec.keyInputs.length > 0;
    this.inputCount = spec.inputs.length;
    this.place = -(spec.arrival ?? 0);
    this.chain = new Chain(spec.steps, sampleRate, maxFrames, spec.soundEnd);
    this.chain.seek(this.place);
    this.main = { left: new Float64Array(maxFrames), right: new Float64Array(maxFrames) };
    this.key = { left: new Float64Array(maxFrames), right: new Float64Array(maxFrames) };
  }

  /** Delay of the chain, whole samples. */
  get latency(): number {
    return this.chain.latency;
  }

  /** As `Chain.traces`. */
  get traces(): readonly (GainReductionTrace | null)[] {
    return this.chain.traces;
  }

  /** The next frame is `frame` in the strip's own time, in which rendering begins at 0: lines continue from there. */
  seek(frame: number): void {
    this.place = frame - (this.spec.arrival ?? 0);
    this.chain.seek(this.place);
  }

  /** New values for the processor at this place of the chain; they must not change its latency. */
  set(place: StepPlace, values: Values): void {
    this.chain.set(place, values);
  }

  /** Moves to another strip by new values alone; returns false and changes nothing if that is not enough. */
  moveTo(spec: StripSpec): boolean {
    return this.hasInputsOf(spec) && this.chain.moveTo(spec.steps);
  }

  /** Copies the state of processors and inputs that both strips have. The other is not affected. */
  takeOver(other: Strip): void {
    if (this.hasInputsOf(other.spec)) {
      restoreState(this.mainSum, stateOf(other.mainSum));
      restoreState(this.keySum, stateOf(other.keySum));
    }
    this.chain.takeOver(other.chain);
    this.seek(other.place + (other.spec.arrival ?? 0));
  }

  private hasInputsOf({ inputs, keyInputs, arrival }: StripSpec): boolean {
    if ((arrival ?? 0) !== (this.spec.arrival ?? 0)) return false;
    return areSameInputs(inputs, this.spec.inputs) && areSameInputs(keyInputs, this.spec.keyInputs);
  }

  /**
   * Processes frames offset..offset+frames-1. `channels` holds the inputs in the order of the spec, then the key inputs.
   * Writes as many frames of the outputs, from `outOffset` on.
   */
  process(
    channels: readonly InputChannels[],
    outLeft: Float32Array,
    outRight: Float32Array,
    offset: number,
    frames: number,
    outOffset = offset,
  ): void {
    const { main, key, place } = this;
    this.mainSum.process(channels, 0, offset, frames, main, place);
    if (this.hasKey) this.keySum.process(channels, this.inputCount, offset, frames, key, place);
    this.chain.process(main.left, main.right, frames, this.hasKey ? key : null);
    this.place += frames;
    const { left, right } = main;
    for (let i = 0; i < frames; i++) {
      outLeft[outOffset + i] = left[i]!;
      outRight[outOffset + i] = right[i]!;
    }
  }

  reset(): void {
    this.mainSum.reset();
    this.keySum.reset();
    this.chain.reset();
    this.seek(0);
  }
}
