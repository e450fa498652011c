import { SlidingMaximum } from '../core/sliding-maximum.ts';

/** Half a period of 40 Hz: peaks are held this long, so that the reduction of a low note is steady. */
const CREST_SECONDS = 0.0125;

/** Reduction below this, dB, has ended. */
const RELEASED = 1e-9;

/**
 * Smooth decoupled peak detector of one channel, on the gain reduction in dB (Giannoulis, Massberg and Reiss 2012, equation
 * 17): p = max(x, aR p + (1 - aR) x), then r = aA r + (1 - aA) p. The attack does not see the dips between the crests of a
 * wave, so that a held tone is reduced by the static curve. It is preceded by the maximum over half a period
 * of 40 Hz, without which low notes would be released between their crests. The release begins that much later, and the
 * attack rounds it.
 */
export class DecoupledSmoothing {
  private readonly crests: SlidingMaximum;
  /** State of the release, dB. */
  private peak = 0;
  /** Average of the requested and applied reduction, dB. */
  private average = 0;
  /** Frames left to hold. */
  private held = 0;
  private attack = 1;
  private release = 1;
  private averaging = 0;
  private holdFrames = 0;

  constructor(sampleRate: number) {
    this.crests = new SlidingMaximum(Math.round(CREST_SECONDS * sampleRate));
  }

  /** Continues from this reduction, dB. */
  start(reduction: number): void {
    this.reset();
    this.peak = reduction;
  }

  /**
   * @param attack factor of the one-pole, per frame, 0..1
   * @param release the same
   * @param averaging the same for the average of an automatic release; 0: there is none
   */
  control(attack: number, release: number, holdFrames: number, averaging: number): void {
    this.attack = attack;
    this.release = release;
    this.averaging = averaging;
    this.holdFrames = holdFrames;
    if (this.held > holdFrames) this.held = holdFrames;
    if (this.peak < RELEASED) this.peak = 0;
    if (this.average < RELEASED || averaging === 0) this.average = 0;
  }

  /** Replaces requested reductions, dB, by smoothed ones, starting at `from`; returns the last value. */
  process(levels: Float64Array, frames: number, from: number): number {
    const { attack, release, averaging, holdFrames } = this;
    const autoRelease = averaging > 0;
    this.crests.process(levels, frames);
    let { peak, average, held } = this;
    let reduction = from;
    for (let k = 0; k < frames; k++) {
      const target = levels[k]!;
      if (target >= peak) {
        held = holdFrames;
        peak = target;
      } else if (held > 0) held--;
      else {
        const goal = autoRelease ? Math.max(target, Math.min(average, peak)) : target;
        peak += release * (goal - peak);
      }
      if (autoRelease) average += averaging * (Math.min(target, peak) - average);
      reduction += attack * (peak - reduction);
      levels[k] = reduction;
    }
    this.peak = peak;
    this.average = average;
    this.held = held;
    return reduction;
  }

  reset(): void {
    this.crests.reset();
    this.peak = this.average = this.held = 0;
  }
}
