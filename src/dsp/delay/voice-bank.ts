import { clearAll, controlAll, type Memory, type Part, resetAll } from '../core/parts.ts';
import { CONTROL_FRAMES } from '../core/processor.ts';
import { CutFilters } from '../filters/cut-filters.ts';
import type { Parameters, Values } from '../core/parameter.ts';
import { Ramp } from '../core/ramp.ts';
import { Ring } from '../core/ring.ts';
import { SHORTEST_DELAY, Voice, VOICE_FRAMES, voiceGains } from './voice.ts';
import { UNHEARD } from '../core/silence-gate.ts';
import type { WetSound } from '../core/wet-effect.ts';

/** Most copies that a bank holds. */
export const MAX_VOICES = 4;
const SILENT = { left: 0, right: 0 };

/** Settings of a voice bank. */
export interface VoiceSettings {
  /** Voices that are heard, 1..4. */
  readonly count: number;
  /** Least delay of each of the four, samples. */
  readonly delays: readonly number[];
  /** From 0, all in the middle, to 1. */
  readonly spread: number;
  /** Feedback of the copies, 0..0.5. */
  readonly feedback: number;
  /** Corners in Hz. */
  readonly lowCut: number;
  readonly highCut: number;
  /** Mix of the copies, 0..1, by equal power: they are nearly uncorrelated with the dry sound. */
  readonly mix: number;
}

/** How the voices of a bank move. */
export interface VoiceMotion<P extends Parameters> extends Part {
  /** Offsets at the end of the control block, samples, 0 or more, added to each voice's delay. */
  readonly offsets: Float64Array;
  /** Levels at the end of the control block, linear gains. */
  readonly levels: Float64Array;
  /** Longest delay and movement together, samples. */
  readonly longest: number;
  set(values: Values<P>): void;
  settingsFor(values: Values<P>): VoiceSettings;
}

/** Up to four moving copies of a stereo sound, with feedback, low and high cut. */
export class VoiceBank<P extends Parameters> implements WetSound<P> {
  private readonly voices: readonly Voice[];
  private readonly ringLeft: Ring;
  private readonly ringRight: Ring;
  private readonly cuts: CutFilters;
  private readonly feedback: Ramp;
  private readonly parts: readonly Part[];
  private readonly memories: readonly Memory[];
  private readonly wetLeft = new Float64Array(CONTROL_FRAMES);
  private readonly wetRight = new Float64Array(CONTROL_FRAMES);

  constructor(
    private readonly motion: VoiceMotion<P>,
    values: Values<P>,
    sampleRate: number,
  ) {
    const capacity = Math.ceil(motion.longest) + SHORTEST_DELAY + VOICE_FRAMES + CONTROL_FRAMES;
    const { lowCut, highCut } = motion.settingsFor(values);
    this.voices = Array.from({ length: MAX_VOICES }, () => new Voice(sampleRate));
    this.ringLeft = new Ring(capacity);
    this.ringRight = new Ring(capacity);
    this.cuts = new CutFilters(lowCut, highCut, sampleRate);
    this.feedback = new Ramp(0, sampleRate);
    this.parts = [motion, this.cuts, this.feedback];
    this.memories = [this.ringLeft, this.ringRight, this.cuts];
  }

  set(values: Values<P>): void {
    this.motion.set(values);
    const { count, delays, spread, feedback, lowCut, highCut } = this.motion.settingsFor(values);
    const gains = voiceGains(count, spread);
    this.voices.forEach((voice, index) => voice.set(delays[index]!, gains[index] ?? SILENT));
    // Correlated copies add up to the sum of their gains, the same on both sides: the loop gain stays below `feedback`.
    this.feedback.set(feedback / gains.reduce((sum, { left }) => sum + left, 0));
    this.cuts.set(lowCut, highCut);
  }

  control(): void {
    controlAll(this.parts);
    const { offsets, levels } = this.motion;
    for (let index = 0; index < MAX_VOICES; index++) this.voices[index]!.control(offsets[index]!, levels[index]!);
  }

  get silent(): boolean {
    return this.ringLeft.peak < UNHEARD && this.ringRight.peak < UNHEARD;
  }

  process(left: Float64Array, right: Float64Array, count: number, position: number): void {
    const { wetLeft, wetRight } = this;
    this.copy(left, right, count, position);
    this.cuts.process(wetLeft, wetRight, count, position);
    for (let i = 0; i < count; i++) {
      left[i] = wetLeft[i]!;
      right[i] = wetRight[i]!;
    }
  }

  clear(): void {
    clearAll(this.memories);
  }

  reset(): void {
    resetAll(this.parts);
    const { offsets, levels } = this.motion;
    this.voices.forEach((voice, index) => voice.reset(offsets[index]!, levels[index]!));
  }

  /** Sums the copies; the sound with what is fed back goes to the rings. */
  private copy(left: Float64Array, right: Float64Array, count: number, position: number): void {
    const { wetLeft, wetRight, voices } = this;
    wetLeft.fill(0, 0, count);
    wetRight.fill(0, 0, count);
    for (let index = 0; index < MAX_VOICES; index++) {
      voices[index]!.add('left', this.ringLeft, wetLeft, count, position);
      voices[index]!.add('right', this.ringRight, wetRight, count, position);
    }
    const { value, step } = this.feedback;
    for (let i = 0; i < count; i++) {
      const back = value + step * (position + i);
      left[i]! += back * wetLeft[i]!;
      right[i]! += back * wetRight[i]!;
    }
    this.ringLeft.write(left, count);
    this.ringRight.write(right, count);
  }
}
