import { StereoDelay } from './delay-line.ts';
import type { DyingAway } from './dying-away.ts';
import { CONTROL_FRAMES, type KeySignal } from './processor.ts';
import { Ramp } from './ramp.ts';
import { restoreState, stateOf } from './running-state.ts';
import type { Stage } from './stage.ts';
import { wetDryGains, type WetDry } from './wet-dry.ts';

/** The dry sound, delayed by the latency of the processor. */
class DryPath {
  readonly delay: StereoDelay;
  readonly left: Float64Array;
  readonly right: Float64Array;

  constructor(latency: number, maxFrames: number) {
    this.delay = new StereoDelay(latency);
    this.left = new Float64Array(maxFrames);
    this.right = new Float64Array(maxFrames);
  }
}

/**
 * A stage with a mix control; wet and dry sound are aligned. At 100 % there is no dry path, and the output is that of
 * the stage, bit for bit. It stops once it has died away. Changes of the mix are smoothed; one that leaves 100 % waits
 * until the dry delay is filled.
 */
export class WetStage implements Stage {
  readonly latency: number;
  private readonly wetGain: Ramp;
  private readonly dryGain: Ramp;
  private target: { readonly wet: number; readonly dry: number };
  private dryPath: DryPath | null = null;
  /** Whether the dry path runs. */
  private runs = false;
  /** Frames until the dry delay is filled. */
  private lacks = 0;
  /** Frames of the control block already done. */
  private position = 0;
  /** Where a line has the mix at the end of the next control block; null: it follows none. */
  private led: { wet: number; dry: number } | null = null;

  constructor(
    private readonly inner: Stage,
    private readonly dyingAway: DyingAway,
    wetDry: WetDry,
    sampleRate: number,
    private readonly maxFrames: number,
  ) {
    this.latency = inner.latency;
    this.target = wetDryGains(wetDry);
    this.wetGain = new Ramp(this.target.wet, sampleRate);
    this.dryGain = new Ramp(this.target.dry, sampleRate);
    this.set(wetDry);
    this.settle();
  }

  /** New mix, from the next control block on. The first move away from 100 % makes the dry path. */
  set(wetDry: WetDry): void {
    this.target = wetDryGains(wetDry);
    if (this.target.dry > 0) this.dryPath ??= new DryPath(this.latency, this.maxFrames);
  }

  /**
   * Sets the mix that a line has at the end of the next control block, before each block; the mix moves linearly to it. The dry path then always
   * runs, so that there is no wait for its delay.
   */
  follow(wet: number, dry: number): void {
    if (this.led) {
      this.led.wet = wet;
      this.led.dry = dry;
      return;
    }
    this.led = { wet, dry };
    this.dryPath ??= new DryPath(this.latency, this.maxFrames);
  }

  /** The mix that a line has where the stage begins. */
  beginAt(wet: number, dry: number): void {
    this.follow(wet, dry);
    this.wetGain.set(wet);
    this.dryGain.set(dry);
    this.wetGain.reset();
    this.dryGain.reset();
  }

  /** Ends following a line. */
  release(): void {
    this.led = null;
  }

  control(): void {
    this.dyingAway.control();
    if (this.dyingAway.over) return;
    this.inner.control();
    this.position = 0;
    const { dryGain, target, wetGain, led } = this;
    if (led) {
      this.runs = true;
      wetGain.glide(led.wet);
      dryGain.glide(led.dry);
      return;
    }
    if (!this.runs) {
      if (target.dry === 0) return;
      this.runs = true;
      this.lacks = this.latency;
      this.dryPath!.delay.reset();
    }
    if (this.lacks <= 0) {
      wetGain.set(target.wet);
      dryGain.set(target.dry);
    }
    this.lacks -= CONTROL_FRAMES;
    wetGain.control();
    dryGain.control();
    this.runs = target.dry > 0 || !wetGain.settled || !dryGain.settled;
  }

  process(left: Float64Array, right: Float64Array, start: number, end: number, key: KeySignal | null): void {
    const { dyingAway } = this;
    if (dyingAway.over) {
      left.fill(0, start, end);
      right.fill(0, start, end);
      return;
    }
    dyingAway.look(left, right, start, end);
    this.run(left, right, start, end, key);
    dyingAway.look(left, right, start, end);
  }

  reset(): void {
    this.dyingAway.reset();
    this.inner.reset();
    this.settle();
  }

  /** Copies mix and dry path, moves included, of another stage of the same latency. */
  takeOver({ wetGain, dryGain, dryPath, runs, lacks, position, led }: WetStage): void {
    restoreState(this.wetGain, stateOf(wetGain));
    restoreState(this.dryGain, stateOf(dryGain));
    if (dryPath) {
      this.dryPath ??= new DryPath(this.latency, this.maxFrames);
      restoreState(this.dryPath.delay, stateOf(dryPath.delay));
    }
    this.runs = runs;
    this.lacks = lacks;
    this.position = position;
    this.led = led && { ...led };
  }

  private run(left: Float64Array, right: Float64Array, start: number, end: number, key: KeySignal | null): void {
    const { dryPath, inner, position } = this;
    if (!this.runs || !dryPath) {
      inner.process(left, right, start, end, key);
      return;
    }
    dryPath.delay.process(left, right, dryPath.left, dryPath.right, start, end);
    inner.process(left, right, start, end, key);
    const { value: wet, step: wetStep } = this.wetGain;
    const { value: dry, step: dryStep } = this.dryGain;
    for (let i = start; i < end; i++) {
      const n = position + i - start;
      const wetNow = wet + wetStep * n;
      const dryNow = dry + dryStep * n;
      left[i] = wetNow * left[i]! + dryNow * dryPath.left[i]!;
      right[i] = wetNow * right[i]! + dryNow * dryPath.right[i]!;
    }
    this.position = position + end - start;
  }

  private settle(): void {
    this.wetGain.set(this.target.wet);
    this.dryGain.set(this.target.dry);
    this.wetGain.reset();
    this.dryGain.reset();
    this.dryPath?.delay.reset();
    this.runs = this.target.dry > 0;
    this.lacks = 0;
    this.position = 0;
  }
}
