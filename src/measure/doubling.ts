import FFT from 'fft.js';
import { averagedSpectra, GREATEST_LAG, LEAST_COHERENCE, SEGMENT, type Alignment, type Spectra } from './alignment.ts';
import { minimumPhaseOf } from './minimum-phase.ts';

/** How a processed copy lies against the sound that it was made of. */
export interface Doubling extends Alignment {
  /** Part of the shared sound that a plain delay, once the phase that filters bring with them is taken off, explains. */
  readonly explained: number;
  /** True when filters turn the phase of the copy so far that the two meet out of step somewhere they both sound. */
  readonly turnsPhase: boolean;
}

/** Bins weaker than this part of the strongest (power, -60 dB) are left out: there is only noise in them. */
const LEAST_POWER = 1e-6;

/** Coherence is kept this far from 1, so that a perfect copy has a finite weight in every bin. */
const COHERENCE_ROOM = 1e-3;

/** One beside the other (power, -200 dB) that is only the rounding of their common transform. */
const NOTHING = 1e-20;

/** Coherence from which a bin tells something of the response between the two. */
const TELLING = 0.25;

/** A lag that explains less than this of what the two share is chance: repeating or sustained music has many such. */
const LEAST_EXPLAINED = 0.5;

/**
 * A lag of 0 is kept when it explains this much of what the best lag does: all but all of it where the best one is
 * clear, or far away; less where it is near and not clear, as filters that are not of minimum phase, or whose response
 * is not known well, leave a broad peak a few samples aside. In the middle of hearing (2.5 kHz) that is up to two samples
 * at 48 kHz: three explain hardly more than half at 0.
 */
const CLEAR = 0.985;
const NEAR = 8;
const AS_GOOD = 0.985;
const AS_GOOD_NEAR = 0.6;

/** Phases turned by more than a third of a half circle add up to noticeably less than they could (1.25 dB). */
const TURNED = Math.cos(Math.PI / 3);

/** Coherence of each bin, and its weight in the search. */
interface Bins {
  readonly coherence: Float64Array;
  readonly weight: Float64Array;
  readonly mean: number;
}

const binsOf = ({ first, second, crossReal, crossImaginary, segments }: Spectra): Bins => {
  const power = first.map((each, k) => Math.sqrt(each * second[k]!));
  const least = LEAST_POWER * power.reduce((greatest, each) => Math.max(greatest, each), 0);
  const coherence = new Float64Array(power.length);
  const weight = new Float64Array(power.length);
  let shared = 0;
  let whole = 0;
  for (let k = 1; k < power.length - 1; k++) {
    if (!(power[k]! > least)) continue;
    const raw = (crossReal[k]! ** 2 + crossImaginary[k]! ** 2) / power[k]! ** 2;
    // With few segments two strangers look coherent by chance, by 1 / segments on average; take that off.
    coherence[k] = Math.max(0, (raw - 1 / segments) / (1 - 1 / segments));
    weight[k] = coherence[k]! / (1 - coherence[k]! + COHERENCE_ROOM);
    shared += coherence[k]! * power[k]!;
    whole += power[k]!;
  }
  return { coherence, weight, mean: whole > 0 ? shared / whole : 0 };
};

/**
 * Lag, polarity and coherence of `second`, made from `first` by filters, dynamics and the like (one channel each, one
 * rate). Filters turn phase without being late: the phase that goes with the magnitude response between the two, were
 * all filters of minimum phase, is taken off first, and what is left is searched by generalised cross-correlation with
 * the maximum-likelihood weights of Knapp and Carter (1976; formula from memory). null when either is silent, when the
 * two share too little, or when no lag up to GREATEST_LAG explains what they share: an echo, a reverberation.
 */
export const doublingOf = (first: Float32Array, second: Float32Array): Doubling | null => {
  const spectra = averagedSpectra(first, second);
  if (spectra.segments < 2 || isSilent(spectra)) return null;
  const bins = binsOf(spectra);
  if (!(bins.mean >= LEAST_COHERENCE)) return null;
  const response = spectra.first.map((power, k) =>
    bins.coherence[k]! >= TELLING ? Math.hypot(spectra.crossReal[k]!, spectra.crossImaginary[k]!) / power : Number.NaN,
  );
  const phase = minimumPhaseOf(response);
  const plain = strongestLag(spectra, bins.weight, new Float64Array(phase.length));
  // Where a delay alone explains all there is, it was no filter that made the magnitudes differ: other sound beside it.
  const found = plain.explained >= CLEAR ? plain : strongestLag(spectra, bins.weight, phase);
  if (found.explained < LEAST_EXPLAINED) return null;
  return { ...found, coherence: bins.mean, turnsPhase: isTurned(spectra, bins.coherence, found) };
};

const total = (powers: Float64Array): number => powers.reduce((sum, power) => sum + power, 0);

const isSilent = ({ first, second }: Spectra): boolean => {
  const [one, other] = [total(first), total(second)];
  return !(Math.min(one, other) > NOTHING * Math.max(one, other));
};

type Found = Pick<Doubling, 'lagSamples' | 'polarity' | 'explained'>;

/** The lag at which the cross spectrum, its phases less `phase`, adds up to most. */
const strongestLag = ({ crossReal, crossImaginary }: Spectra, weight: Float64Array, phase: Float64Array): Found => {
  const weighted = new Float64Array(2 * SEGMENT);
  let whole = 0;
  for (let k = 1; k < weight.length - 1; k++) {
    if (!(weight[k]! > 0)) continue;
    const angle = Math.atan2(crossImaginary[k]!, crossReal[k]!) - phase[k]!;
    const real = weight[k]! * Math.cos(angle);
    const imaginary = weight[k]! * Math.sin(angle);
    // The forward transform of the conjugate spectrum is the inverse transform of a real signal's.
    weighted[2 * k] = real;
    weighted[2 * k + 1] = -imaginary;
    weighted[2 * (SEGMENT - k)] = real;
    weighted[2 * (SEGMENT - k) + 1] = imaginary;
    whole += 2 * weight[k]!;
  }
  const correlation = new Float64Array(2 * SEGMENT);
  new FFT(SEGMENT).transform(correlation, weighted);
  let lagSamples = 0;
  let strongest = correlation[0]!;
  for (let lag = -GREATEST_LAG; lag <= GREATEST_LAG; lag++) {
    const value = correlation[2 * ((lag + SEGMENT) % SEGMENT)]!;
    if (Math.abs(value) > Math.abs(strongest)) {
      strongest = value;
      lagSamples = lag;
    }
  }
  const isVague = Math.abs(lagSamples) <= NEAR && Math.abs(strongest) / whole < CLEAR;
  const least = isVague ? AS_GOOD_NEAR : AS_GOOD;
  const level = correlation[0]! / strongest >= least;
  const value = level ? correlation[0]! : strongest;
  return { lagSamples: level ? 0 : lagSamples, polarity: value < 0 ? -1 : 1, explained: Math.abs(value) / whole };
};

/** Whether, lag and polarity set right, the part of the shared power that meets turned is more than a tenth. */
const isTurned = (
  { crossReal, crossImaginary }: Spectra,
  coherence: Float64Array,
  { lagSamples, polarity }: Found,
): boolean => {
  let turned = 0;
  let whole = 0;
  for (let k = 1; k < coherence.length - 1; k++) {
    if (coherence[k]! < TELLING) continue;
    const size = Math.hypot(crossReal[k]!, crossImaginary[k]!);
    const angle = Math.atan2(crossImaginary[k]!, crossReal[k]!) + (2 * Math.PI * k * lagSamples) / SEGMENT;
    if (polarity * Math.cos(angle) < TURNED) turned += size;
    whole += size;
  }
  return turned > 0.1 * whole;
};
