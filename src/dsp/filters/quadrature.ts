import { CONTROL_FRAMES } from '../core/processor.ts';
import { flushVanished } from './one-pole.ts';

/** The band in which the two outputs stand 90 degrees apart, Hz. */
const QUADRATURE_BAND = [24, 192] as const;
const CENTRE_HZ = Math.sqrt(QUADRATURE_BAND[0] * QUADRATURE_BAND[1]);

/**
 * Corners of eight first-order all-passes relative to the centre of the band: sc((2 k + 1) K / 16) / sqrt 8 with the
 * Jacobi elliptic function sc and quarter period K of the modulus sqrt(1 - 1 / 64) (the equal-ripple phase splitter, from
 * memory after Darlington 1950; computed with scipy, where its error over the band is 0.0026 degrees). The upper four
 * are the reciprocals of the lower.
 */
const LOWER = [0.07741236, 0.24738577, 0.46652473, 0.78243771] as const;
const CORNERS = [...LOWER, ...LOWER.map((corner) => 1 / corner).reverse()];
/** Every other one, from the second, turns the real part; the rest turn the imaginary part, 90 degrees later. */
const REAL = CORNERS.filter((_, index) => index % 2 === 1);
const IMAGINARY = CORNERS.filter((_, index) => index % 2 === 0);

/** Coefficient a of (a + z^-1) / (1 + a z^-1), whose phase is -90 degrees at `hz`. */
const turnAt = (hz: number, sampleRate: number): number => {
  const t = Math.tan((Math.PI * hz) / sampleRate);
  return (t - 1) / (t + 1);
};

const turns = (corners: readonly number[], sampleRate: number): Float64Array =>
  Float64Array.from(corners, (corner) => turnAt(corner * CENTRE_HZ, sampleRate));

/** Corner of the all-pass that remembers longest, Hz. */
export const SLOWEST_HZ = CENTRE_HZ * LOWER[0];

/** One chain of all-passes. */
class Turner {
  private readonly state: Float64Array;

  constructor(private readonly turns: Float64Array) {
    this.state = new Float64Array(turns.length);
  }

  process(samples: Float64Array, count: number): void {
    const { turns, state } = this;
    for (let k = 0; k < turns.length; k++) {
      const a = turns[k]!;
      let s = state[k]!;
      for (let i = 0; i < count; i++) {
        const x = samples[i]!;
        const y = a * x + s;
        s = x - a * y;
        samples[i] = y;
      }
      state[k] = s;
    }
  }

  flush(): void {
    flushVanished(this.state);
  }

  clear(): void {
    this.state.fill(0);
  }
}

/**
 * Makes of one signal two of the same level whose phases stand 90 degrees apart within the band: real and imaginary part
 * of a number that turns once for each period of a sine.
 */
export class Quadrature {
  readonly real = new Float64Array(CONTROL_FRAMES);
  readonly imaginary = new Float64Array(CONTROL_FRAMES);
  private readonly chains: readonly [Turner, Turner];

  constructor(sampleRate: number) {
    this.chains = [new Turner(turns(REAL, sampleRate)), new Turner(turns(IMAGINARY, sampleRate))];
  }

  /** Splits samples[0..count-1]. */
  process(samples: Float64Array, count: number): void {
    const { real, imaginary, chains } = this;
    for (let i = 0; i < count; i++) real[i] = imaginary[i] = samples[i]!;
    chains[0].process(real, count);
    chains[1].process(imaginary, count);
  }

  flush(): void {
    this.chains[0].flush();
    this.chains[1].flush();
  }

  clear(): void {
    this.chains[0].clear();
    this.chains[1].clear();
  }
}
