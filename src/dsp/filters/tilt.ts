import { gainOf } from '../../audio/decibels.ts';
import { flushVanished, onePole, onePoleTail } from './one-pole.ts';
import { Ramp } from '../core/ramp.ts';

/** Where the spectrum turns, Hz. */
const PIVOT_HZ = 1000;

/**
 * First-order tilt of two channels: half of its dB above the pivot, half of it the other way below. At 0 dB it is left out
 * and changes nothing.
 */
export class Tilt {
  private readonly high: Ramp;
  /** Low gain less high gain: y = high x + tilt lowpass(x). */
  private readonly tilt: Ramp;
  private readonly pole: number;
  private readonly state = new Float64Array(2);

  constructor(db: number, sampleRate: number) {
    this.high = new Ramp(gainOf(db / 2), sampleRate);
    this.tilt = new Ramp(gainOf(-db / 2) - gainOf(db / 2), sampleRate);
    this.pole = onePole(PIVOT_HZ, sampleRate);
  }

  set(db: number): void {
    this.high.set(gainOf(db / 2));
    this.tilt.set(gainOf(-db / 2) - gainOf(db / 2));
  }

  control(): void {
    this.high.control();
    this.tilt.control();
    flushVanished(this.state);
  }

  /** Frames 0..frames-1 in place; `position` frames of the control block are already done. */
  process(left: Float64Array, right: Float64Array, frames: number, position: number): void {
    const { high, tilt, pole, state } = this;
    if (high.settled && tilt.settled && high.value === 1 && tilt.value === 0) return;
    let lowLeft = state[0]!;
    let lowRight = state[1]!;
    for (let i = 0; i < frames; i++) {
      const k = position + i;
      const highGain = high.value + high.step * k;
      const tiltGain = tilt.value + tilt.step * k;
      const moveLeft = pole * (left[i]! - lowLeft);
      const moveRight = pole * (right[i]! - lowRight);
      left[i] = highGain * left[i]! + tiltGain * (lowLeft + moveLeft);
      right[i] = highGain * right[i]! + tiltGain * (lowRight + moveRight);
      lowLeft += 2 * moveLeft;
      lowRight += 2 * moveRight;
    }
    state[0] = lowLeft;
    state[1] = lowRight;
  }

  reset(): void {
    this.high.reset();
    this.tilt.reset();
    this.state.fill(0);
  }
}

/** Samples until the memory of a tilt is `db` dB down. */
export const tiltTail = (db: number, sampleRate: number): number => onePoleTail(PIVOT_HZ, db, sampleRate);
