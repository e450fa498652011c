import { alignmentOf, type Alignment } from './alignment.ts';
import { averagedSpectra, SEGMENT, shiftedBy, type Spectra } from './cross-spectra.ts';
import { greatestAt } from '../peaks/greatest-at.ts';

/** Delay, gain and polarity that turn one signal into another, and the residual. */
export interface Match extends Omit<Alignment, 'repeats'> {
  /** Lag of the second, samples with fraction; `lagSamples` is its whole part. */
  readonly exactLagSamples: number;
  /** Gain of the second against the first, dB, of the part that both share. */
  readonly gainDb: number;
  /**
   * Energy of (second less the first so delayed and scaled) over that of the second, dB. About -70 dB is the lowest
   * value for a fractional lag, since segments of 16384 samples shift against each other by a fraction of a sample.
   */
  readonly residualDb: number;
}

/** Residual below this part of the second signal (-150 dB) is rounding. */
const NOTHING = 1e-15;

/**
 * Best match of `second` by `first` (one channel each, one rate). The whole lag and the polarity are those of
 * `alignmentOf`; the part of a sample beyond is where the shared energy is greatest, within one sample to either side.
 * null when there is no alignment.
 */
export const matchOf = (first: Float32Array, second: Float32Array): Match | null => {
  const alignment = alignmentOf(first, second);
  if (!alignment) return null;
  const whole = Math.round(alignment.lagSamples);
  const length = Math.max(first.length, second.length);
  const padded = new Float32Array(length);
  padded.set(first);
  const spectra = averagedSpectra(shiftedBy(padded, whole), second);
  const shared = (lag: number): number => alignment.polarity * sharedPowerOf(spectra, lag);
  const part = greatestAt(shared, -1, 1);
  const energy = powerOf(spectra.first);
  const gain = shared(part) / energy;
  const left = 1 - (gain * gain * energy) / powerOf(spectra.second);
  const { polarity, coherence, explained } = alignment;
  return {
    ...{ polarity, coherence, explained },
    lagSamples: whole,
    exactLagSamples: whole + part,
    gainDb: 20 * Math.log10(gain),
    residualDb: 10 * Math.log10(Math.max(NOTHING, left)),
  };
};

/** Both signs of frequency of a bin count, but the first and the last have one. */
const weightOf = (bin: number): number => (bin === 0 || bin === SEGMENT / 2 ? 1 : 2);

/** Energy of averaged powers over both signs of frequency. */
export const powerOf = (powers: Float64Array): number =>
  powers.reduce((sum, power, bin) => sum + weightOf(bin) * power, 0);

/** Common energy of the two when the second is `lag` samples late: the cross spectrum with that delay taken out. */
export const sharedPowerOf = ({ crossReal, crossImaginary }: Spectra, lag: number): number => {
  let sum = 0;
  for (let bin = 0; bin < crossReal.length; bin++) {
    const angle = (2 * Math.PI * bin * lag) / SEGMENT;
    sum += weightOf(bin) * (crossReal[bin]! * Math.cos(angle) - crossImaginary[bin]! * Math.sin(angle));
  }
  return sum;
};
