import { CONTROL_FRAMES, type Kernel } from '../core/processor.ts';
import { decibelsOf } from '../../audio/decibels.ts';
import { LoudnessMatch } from '../dynamics/loudness-match.ts';
import { Mixer } from '../core/mixer.ts';
import type { Parameter, Parameters, Values } from '../core/parameter.ts';
import type { Part } from '../core/parts.ts';
import { StereoDelay } from '../core/delay-line.ts';

/** Makes the driven sound of an effect, late by a fixed latency. */
export interface DrivenSound<P extends Parameters> extends Part {
  set(values: Values<P>): void;
  /** Frames 0..count-1 in place; `position` frames of the control block are already done. */
  process(left: Float64Array, right: Float64Array, count: number, position: number): void;
}

/** Parameters with a mix control and a running loudness match. */
type Driven = Parameters & Readonly<Record<'mix' | 'keepLoudness', Parameter>>;

/** Saturator or tape: the driven sound mixed with the dry one, which waits for it, then the running loudness match. */
export class DrivenEffect<P extends Driven> implements Kernel<P> {
  private readonly dry: StereoDelay;
  private readonly mixer: Mixer;
  private readonly loudness: LoudnessMatch;
  private readonly drivenLeft = new Float64Array(CONTROL_FRAMES);
  private readonly drivenRight = new Float64Array(CONTROL_FRAMES);
  /** Frames of the control block already done. */
  private position = 0;

  /** @param latency of the driven sound, samples; @param mostDb furthest that the loudness match goes, dB */
  constructor(
    private readonly driven: DrivenSound<P>,
    latency: number,
    values: Values<P>,
    sampleRate: number,
    mostDb?: number,
  ) {
    this.dry = new StereoDelay(latency);
    this.mixer = new Mixer('linear', values.mix! / 100, sampleRate);
    this.loudness = new LoudnessMatch(values.keepLoudness === 1, sampleRate, mostDb);
  }

  set(values: Values<P>): void {
    this.driven.set(values);
    this.mixer.set(values.mix! / 100);
    this.loudness.set(values.keepLoudness === 1);
  }

  control(): void {
    this.position = 0;
    this.driven.control();
    this.mixer.control();
    this.loudness.control();
  }

  process(left: Float64Array, right: Float64Array, start: number, end: number): void {
    const { drivenLeft, drivenRight, position, loudness } = this;
    const count = end - start;
    for (let i = 0; i < count; i++) {
      drivenLeft[i] = left[start + i]!;
      drivenRight[i] = right[start + i]!;
    }
    this.driven.process(drivenLeft, drivenRight, count, position);
    this.dry.process(left, right, left, right, start, end);
    loudness.hear(left, right, start, end);
    this.mixer.process(left, right, start, count, drivenLeft, drivenRight, position);
    loudness.level(left, right, start, end, position);
    this.position = position + count;
  }

  reset(): void {
    this.driven.reset();
    this.dry.reset();
    this.mixer.reset();
    this.loudness.reset();
    this.position = 0;
  }
}

/** By how much drive and make-up (linear) raise quiet sound, dB, 0 or more. */
export const raisedBy = (driveDb: number, makeUp: number): number => Math.max(0, driveDb + decibelsOf(makeUp));
