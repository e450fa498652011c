import { flushVanished, onePole } from './one-pole.ts';
import { Ramp } from '../core/ramp.ts';

/** Removes DC from two channels. While off it runs without effect, so that switching it on causes no transient. */
export class DirectBlocker {
  private readonly share: Ramp;
  private readonly pole: number;
  private readonly state = new Float64Array(2);

  /** @param cornerHz where its first-order high-pass is 3 dB down */
  constructor(on: boolean, cornerHz: number, sampleRate: number) {
    this.share = new Ramp(on ? 1 : 0, sampleRate);
    this.pole = onePole(cornerHz, sampleRate);
  }

  set(on: boolean): void {
    this.share.set(on ? 1 : 0);
  }

  control(): void {
    this.share.control();
    flushVanished(this.state);
  }

  /** Frames 0..frames-1 in place; `position` frames of the control block are already done. */
  process(left: Float64Array, right: Float64Array, frames: number, position: number): void {
    const { share, pole, state } = this;
    let directLeft = state[0]!;
    let directRight = state[1]!;
    for (let i = 0; i < frames; i++) {
      const gain = share.value + share.step * (position + i);
      const moveLeft = pole * (left[i]! - directLeft);
      const moveRight = pole * (right[i]! - directRight);
      if (gain !== 0) {
        left[i]! -= gain * (directLeft + moveLeft);
        right[i]! -= gain * (directRight + moveRight);
      }
      directLeft += 2 * moveLeft;
      directRight += 2 * moveRight;
    }
    state[0] = directLeft;
    state[1] = directRight;
  }

  /** Forgets the sound, not the setting. */
  clear(): void {
    this.state.fill(0);
  }

  reset(): void {
    this.share.reset();
    this.clear();
  }
}
