import { frameLength, type SketchPlan } from '../rough/sketch-plan.ts';
import type { Sketch } from '../rough/sketch.ts';

/** How two tracks are alike under the lag at which they are most so. */
export interface Likeness {
  /** Correlation over all bands, every third octave counting alike, -1..1; negative: inverted polarity. */
  readonly shared: number;
  /** How late the second is, samples. */
  readonly samples: number;
  /** The best of the other sign, 0..1: how doubtful the sign is. */
  readonly against: number;
}

/** Frames that are looked at, spread over the song. */
const MOST_FRAMES = 400;
/** Lags that are tried, samples (2 ms at 48 kHz). */
const REACH = 96;

/** One channel of a track as frames x bins, thinned. */
const monoFrames = (plan: SketchPlan, { channels }: Sketch): Float32Array => {
  const length = frameLength(plan);
  const step = Math.max(1, Math.ceil(plan.frames / MOST_FRAMES));
  const count = Math.ceil(plan.frames / step);
  const out = new Float32Array(count * length);
  for (let n = 0; n < count; n++) {
    for (const channel of channels) {
      for (let e = 0; e < length; e++) out[n * length + e]! += channel[n * step * length + e]!;
    }
  }
  return out;
};

/** Tracks made ready to be compared pair by pair. */
export class PairLikeness {
  private readonly frames: readonly Float32Array[];
  /** One over the root of each band's power, per bin; 0 where the track has next to nothing. */
  private readonly whitening: readonly Float64Array[];

  constructor(
    private readonly plan: SketchPlan,
    sketches: readonly Sketch[],
  ) {
    this.frames = sketches.map((sketch) => monoFrames(plan, sketch));
    this.whitening = this.frames.map((frames) => this.whiteningOf(frames));
  }

  private whiteningOf(frames: Float32Array): Float64Array {
    const { bandStart, bands, bins } = this.plan;
    const length = frameLength(this.plan);
    const powers = new Float64Array(bands.length);
    for (let base = 0; base < frames.length; base += length) {
      for (let b = 0; b < bands.length; b++) {
        for (let e = base + 2 * bandStart[b]!; e < base + 2 * bandStart[b + 1]!; e++) powers[b]! += frames[e]! ** 2;
      }
    }
    const most = Math.max(...powers);
    const out = new Float64Array(bins.length);
    for (let b = 0; b < bands.length; b++) {
      // Bands 50 dB below the strongest are noise.
      const scale = powers[b]! > 1e-5 * most ? 1 / Math.sqrt(powers[b]!) : 0;
      out.fill(scale, bandStart[b], bandStart[b + 1]);
    }
    return out;
  }

  /** How alike two tracks are; null where they share no band. */
  likeness(first: number, second: number): Likeness | null {
    const { plan } = this;
    const length = frameLength(plan);
    const [a, b] = [this.frames[first]!, this.frames[second]!];
    const [wa, wb] = [this.whitening[first]!, this.whitening[second]!];
    const cross = new Float64Array(length);
    for (let base = 0; base < a.length; base += length) {
      for (let e = 0; e < length; e += 2) {
        const [ar, ai, br, bi] = [a[base + e]!, a[base + e + 1]!, b[base + e]!, b[base + e + 1]!];
        cross[e]! += ar * br + ai * bi;
        cross[e + 1]! += ar * bi - ai * br;
      }
    }
    const count = plan.bands.filter(
      (_, band) => wa[plan.bandStart[band]!]! > 0 || wb[plan.bandStart[band]!]! > 0,
    ).length;
    if (count === 0) return null;
    const at = (lag: number): number => {
      let sum = 0;
      for (let n = 0; n < plan.bins.length; n++) {
        const angle = (2 * Math.PI * plan.bins[n]! * lag) / plan.size;
        sum += wa[n]! * wb[n]! * (cross[2 * n]! * Math.cos(angle) - cross[2 * n + 1]! * Math.sin(angle));
      }
      return sum / count;
    };
    let [best, highest, lowest] = [0, at(0), at(0)];
    let shared = highest;
    for (let lag = -REACH; lag <= REACH; lag++) {
      const value = at(lag);
      highest = Math.max(highest, value);
      lowest = Math.min(lowest, value);
      if (Math.abs(value) > Math.abs(shared)) [best, shared] = [lag, value];
    }
    return { shared, samples: best, against: shared > 0 ? -Math.min(0, lowest) : Math.max(0, highest) };
  }
}
