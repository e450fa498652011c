import { smoothingFactor } from './gain-computer.ts';

/** Ratio of the time constants for sustain and attack. */
const SUSTAIN = 10;
/** Levels below this (-400 dB) are silence. */
const SILENCE = 1e-20;

/** How much `above` is above `below`, 0..1: 0 when they are equal, 1/2 at 6 dB, 1 when `below` is silent. */
const contrast = (above: number, below: number): number => {
  const gap = above - below;
  return (gap * gap) / (gap * gap + below * below);
};

/**
 * Separates attack and sustain of a sound by its level, from the difference of envelopes: the attack is where
 * the level is above an envelope that rises slowly, the sustain where it is below one that falls slowly. Both depend on
 * ratios of levels only, so that a soft hit is judged as a loud one.
 */
export class EnvelopeContrast {
  private rising = 0;
  private falling = 0;
  private rise = 1;
  private fall = 1;

  constructor(private readonly sampleRate: number) {}

  /** @param seconds time constant of the envelope that rises slowly; the other falls over ten times as long */
  set(seconds: number): void {
    this.rise = smoothingFactor(seconds, this.sampleRate);
    this.fall = smoothingFactor(SUSTAIN * seconds, this.sampleRate);
  }

  /** Replaces levels[0..frames-1] (linear) by how much each is attack (0..1), and writes how much it is sustain. */
  process(levels: Float64Array, sustain: Float64Array, frames: number): void {
    const { rise, fall } = this;
    let { rising, falling } = this;
    for (let k = 0; k < frames; k++) {
      const level = levels[k]!;
      rising = level > rising ? rising + rise * (level - rising) : level;
      falling = level < falling ? falling + fall * (level - falling) : level;
      levels[k] = level > SILENCE ? contrast(level, rising) : 0;
      sustain[k] = level > SILENCE ? contrast(falling, level) : 0;
    }
    this.rising = rising;
    this.falling = falling < SILENCE ? 0 : falling;
  }

  reset(): void {
    this.rising = this.falling = 0;
  }
}
