import { decibelsOf, gainOf } from '../../audio/decibels.ts';
import { reductionDb, smoothingFactor } from './gain-computer.ts';
import { CONTROL_FRAMES } from '../core/processor.ts';

const KNEE_DB = 6;
const ATTACK_SECONDS = 0.01;
/** Time constant of a second smoothing, which rounds the onset of the reduction. */
const ROUNDING_SECONDS = 0.005;
/** Reduction below this, dB, is set to 0. */
const NOTHING = 1e-5;

export interface Ducking {
  /** Largest reduction, dB; 0 is off. */
  readonly depthDb: number;
  /** Threshold, peak level, dB; each dB above it reduces by one, up to the largest reduction. */
  readonly thresholdDb: number;
  /** Time constant of the release, seconds. */
  readonly releaseSeconds: number;
}

/**
 * Turns one sound down while another is above a threshold. The level is read once a control block and takes effect in
 * the next.
 */
export class Ducker {
  private ducking: Ducking = { depthDb: 0, thresholdDb: 0, releaseSeconds: 1 };
  private peak = 0;
  /** Reduction before and after the second smoothing, dB. */
  private followed = 0;
  private rounded = 0;
  private gain = 1;
  private next = 1;
  private readonly blockRate: number;

  constructor(ducking: Ducking, sampleRate: number) {
    this.blockRate = sampleRate / CONTROL_FRAMES;
    this.set(ducking);
  }

  set(ducking: Ducking): void {
    this.ducking = ducking;
  }

  control(): void {
    const { depthDb, thresholdDb, releaseSeconds } = this.ducking;
    const wanted = depthDb === 0 ? 0 : Math.min(depthDb, reductionDb(decibelsOf(this.peak) - thresholdDb, 1, KNEE_DB));
    const seconds = wanted > this.followed ? ATTACK_SECONDS : releaseSeconds;
    this.followed += smoothingFactor(seconds, this.blockRate) * (wanted - this.followed);
    this.rounded += smoothingFactor(ROUNDING_SECONDS, this.blockRate) * (this.followed - this.rounded);
    if (wanted === 0 && this.followed < NOTHING && this.rounded < NOTHING) this.followed = this.rounded = 0;
    this.gain = this.next;
    this.next = gainOf(-this.rounded);
    this.peak = 0;
  }

  /** Reads the level of frames start..end-1. */
  listen(left: Float64Array, right: Float64Array, start: number, end: number): void {
    let peak = this.peak;
    for (let i = start; i < end; i++) peak = Math.max(peak, Math.abs(left[i]!), Math.abs(right[i]!));
    this.peak = peak;
  }

  /** Turns frames 0..count-1 down in place; `position` frames of the control block are already done. */
  process(left: Float64Array, right: Float64Array, count: number, position: number): void {
    const { gain, next } = this;
    if (gain === 1 && next === 1) return;
    const step = (next - gain) / CONTROL_FRAMES;
    for (let i = 0; i < count; i++) {
      const now = gain + step * (position + i);
      left[i]! *= now;
      right[i]! *= now;
    }
  }

  reset(): void {
    this.peak = this.followed = this.rounded = 0;
    this.gain = this.next = 1;
  }
}
