import { flushVanished, onePole, onePoleTail } from './one-pole.ts';
import { Ramp } from './ramp.ts';

/** Corner of the high-pass, Hz: 0.04 dB down at 20 Hz. */
const CORNER_HZ = 2;

/** Takes the direct component (0 Hz) out of two channels. While off it is left out and changes nothing. */
export class DirectBlocker {
  private readonly share: Ramp;
  private readonly pole: number;
  private readonly state = new Float64Array(2);

  constructor(on: boolean, sampleRate: number) {
    this.share = new Ramp(on ? 1 : 0, sampleRate);
    this.pole = onePole(CORNER_HZ, sampleRate);
  }

  set(on: boolean): void {
    this.share.set(on ? 1 : 0);
  }

  control(): void {
    this.share.control();
    if (this.off) this.state.fill(0);
    flushVanished(this.state);
  }

  /** Frames 0..frames-1 in place; `position` frames of the control block are already done. */
  process(left: Float64Array, right: Float64Array, frames: number, position: number): void {
    if (this.off) return;
    const { share, pole, state } = this;
    let directLeft = state[0]!;
    let directRight = state[1]!;
    for (let i = 0; i < frames; i++) {
      const gain = share.value + share.step * (position + i);
      directLeft += pole * (left[i]! - directLeft);
      directRight += pole * (right[i]! - directRight);
      left[i]! -= gain * directLeft;
      right[i]! -= gain * directRight;
    }
    state[0] = directLeft;
    state[1] = directRight;
  }

  reset(): void {
    this.share.reset();
    this.state.fill(0);
  }

  private get off(): boolean {
    return this.share.settled && this.share.value === 0;
  }
}

/** Samples until what the blocker adds is `db` dB down. */
export const directBlockerTail = (db: number, sampleRate: number): number => onePoleTail(CORNER_HZ, db, sampleRate);
