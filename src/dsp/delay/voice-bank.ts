import { CutFilters } from '../filters/cut-filters.ts';
import { CONTROL_FRAMES } from '../core/processor.ts';
import { Ramp } from '../core/ramp.ts';
import { Ring } from '../core/ring.ts';
import { SilenceGate, UNHEARD } from '../core/silence-gate.ts';
import { wetDryGains } from '../core/wet-dry.ts';
import { SHORTEST_DELAY, Voice, VOICE_FRAMES, voiceGains } from './voice.ts';

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

/** Linear gains of the copies (wet) and the dry sound: the sum is as loud as either, if they are uncorrelated. */
export const mixGains = (mix: number): { readonly wet: number; readonly dry: number } =>
  wetDryGains({ wet: mix, law: 'equal power' });

/**
 * Up to four moving copies of a stereo sound, with low and high cut, mixed with the dry sound. Each control block sets
 * offsets (samples, 0 or more, added to each voice’s delay) and levels (linear gains).
 */
export class VoiceBank {
  private readonly voices: readonly Voice[];
  private readonly ringLeft: Ring;
  private readonly ringRight: Ring;
  private readonly cuts: CutFilters;
  private readonly feedback: Ramp;
  private readonly wet: Ramp;
  private readonly dry: Ramp;
  private readonly gate = new SilenceGate();
  private readonly wetLeft = new Float64Array(CONTROL_FRAMES);
  private readonly wetRight = new Float64Array(CONTROL_FRAMES);
  private readonly sendLeft = new Float64Array(CONTROL_FRAMES);
  private readonly sendRight = new Float64Array(CONTROL_FRAMES);
  /** Frames of the control block already done. */
  private position = 0;

  /** @param longest longest delay and movement together, samples */
  constructor(longest: number, settings: VoiceSettings, sampleRate: number) {
    const capacity = Math.ceil(longest) + SHORTEST_DELAY + VOICE_FRAMES + CONTROL_FRAMES;
    this.voices = Array.from({ length: MAX_VOICES }, () => new Voice(sampleRate));
    this.ringLeft = new Ring(capacity);
    this.ringRight = new Ring(capacity);
    this.cuts = new CutFilters(settings.lowCut, settings.highCut, sampleRate);
    this.feedback = new Ramp(0, sampleRate);
    this.wet = new Ramp(0, sampleRate);
    this.dry = new Ramp(1, sampleRate);
    this.set(settings);
  }

  set({ count, delays, spread, feedback, lowCut, highCut, mix }: VoiceSettings): void {
    const gains = voiceGains(count, spread);
    this.voices.forEach((voice, index) => voice.set(delays[index]!, gains[index] ?? SILENT));
    // Copies that agree add up to the sum of their gains, the same on both sides: the loop stays below `feedback`.
    this.feedback.set(feedback / gains.reduce((sum, { left }) => sum + left, 0));
    this.cuts.set(lowCut, highCut);
    const { wet, dry } = mixGains(mix);
    this.wet.set(wet);
    this.dry.set(dry);
  }

  control(offsets: Float64Array, levels: Float64Array): void {
    this.position = 0;
    for (let index = 0; index < MAX_VOICES; index++) this.voices[index]!.control(offsets[index]!, levels[index]!);
    this.cuts.control();
    this.feedback.control();
    this.wet.control();
    this.dry.control();
    if (this.gate.due() && this.ringLeft.peak < UNHEARD && this.ringRight.peak < UNHEARD) {
      this.clear();
      this.gate.sleep();
    }
  }

  /** Frames start..end-1 in place, within one control block. */
  process(left: Float64Array, right: Float64Array, start: number, end: number): void {
    const { wetLeft, wetRight, position } = this;
    const count = end - start;
    this.position = position + count;
    if (this.gate.rests(left, right, start, end)) return;
    this.copy(left, right, start, count, position);
    this.cuts.process(wetLeft, wetRight, count, position);
    this.blend(left, right, start, count, position);
  }

  /** Back to the state after construction, at these offsets and levels. */
  reset(offsets: Float64Array, levels: Float64Array): void {
    this.clear();
    this.voices.forEach((voice, index) => voice.reset(offsets[index]!, levels[index]!));
    this.cuts.reset();
    this.feedback.reset();
    this.wet.reset();
    this.dry.reset();
    this.gate.reset();
    this.position = 0;
  }

  private clear(): void {
    this.ringLeft.clear();
    this.ringRight.clear();
    this.cuts.clear();
  }

  private blend(left: Float64Array, right: Float64Array, start: number, count: number, position: number): void {
    const { wetLeft, wetRight } = this;
    const { value: wet, step: wetStep } = this.wet;
    const { value: dry, step: dryStep } = this.dry;
    for (let i = 0; i < count; i++) {
      const copies = wet + wetStep * (position + i);
      const sound = dry + dryStep * (position + i);
      left[start + i] = sound * left[start + i]! + copies * wetLeft[i]!;
      right[start + i] = sound * right[start + i]! + copies * wetRight[i]!;
    }
  }

  /** Sums the copies, and writes what is fed back. */
  private copy(left: Float64Array, right: Float64Array, start: number, count: number, position: number): void {
    const { wetLeft, wetRight, sendLeft, sendRight, voices } = this;
    wetLeft.fill(0, 0, count);
    wetRight.fill(0, 0, count);
    for (let index = 0; index < MAX_VOICES; index++) {
      voices[index]!.add('left', this.ringLeft, wetLeft, count, position);
      voices[index]!.add('right', this.ringRight, wetRight, count, position);
    }
    const { value, step } = this.feedback;
    for (let i = 0; i < count; i++) {
      const back = value + step * (position + i);
      sendLeft[i] = left[start + i]! + back * wetLeft[i]!;
      sendRight[i] = right[start + i]! + back * wetRight[i]!;
    }
    this.ringLeft.write(sendLeft, count);
    this.ringRight.write(sendRight, count);
  }
}
