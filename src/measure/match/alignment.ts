import FFT from 'fft.js';
import { averagedSpectra, SEGMENT, shiftedBy, type Spectra } from './cross-spectra.ts';
import { greatestAt } from '../peaks/greatest-at.ts';
import { minimumPhaseOf } from '../minimum-phase.ts';

/** Delay and polarity of one signal relative to another. */
export interface Alignment {
  /** How late the second is against the first, samples to a hundredth; negative: early. */
  readonly lagSamples: number;
  /** -1 if the second is inverted relative to the first. */
  readonly polarity: 1 | -1;
  /** Mean coherence of the two over the band where they have energy, 0..1: below LEAST_COHERENCE there is no lag. */
  readonly coherence: number;
  /** Part of the common energy whose phase a delay explains, after removing the phase of filters, 0..1. */
  readonly explained: number;
  /** For periodic sound: its period, samples; lags that far apart explain it equally well. Absent: no other lag is as good. */
  readonly repeats?: number;
}

/** Below this mean coherence two signals share too little for a meaningful lag. */
const LEAST_COHERENCE = 0.1;

/** A lag that explains less than this may be chance: repeating music, echoes and reverb give many such. */
export const LEAST_EXPLAINED = 0.5;

/** The greatest lag looked for, samples: a quarter of a segment. */
export const GREATEST_LAG = SEGMENT / 4;

/** Bins weaker than this part of the strongest (power, -60 dB) are left out: there is only noise in them. */
const LEAST_POWER = 1e-6;

/** Coherence is kept this far from 1, so that a perfect copy has a finite weight in every bin. */
const COHERENCE_ROOM = 1e-3;

/**
 * Bins whose coherence is reached by chance with more than this probability are left out: for n segments of unrelated
 * signals it is (1 - coherence)^(n - 1) (Carter, Proc. IEEE 75(2), 1987; formula from memory).
 */
const CHANCE = 1e-3;

/** For repeating and sustained sound several lags explain nearly as much (this part of the best). Number of them tried with interpolation, and number of these computed exactly, plus the nearest. */
const RIVAL = 0.95;
const MOST_BETWEEN = 24;
const MOST_EXACT = 6;
const NEAREST_RIVALS = 2;
/** Lags whose unexplained part exceeds that of the best by no more than this count as equal. */
const ALIKE = 1e-6;

/** Energy of one relative to the other (-200 dB) below which it is rounding of their common transform. */
const NOTHING = 1e-20;

/** Coherence from which a bin is used for the response between the two. */
const TELLING = 0.25;

/**
 * With filters between the two, a lag of 0 is kept when it explains this part of what the best lag does: nearly all of
 * it where the best one is clear, or far away; less where it is near and not clear, as filters that are not of minimum
 * phase, or whose response is not known well, leave a broad peak a few samples aside.
 */
const CLEAR = 0.985;
const NEAR = 8;
const AS_GOOD = 0.985;
const AS_GOOD_NEAR = 0.6;

const total = (powers: Float64Array): number => powers.reduce((sum, power) => sum + power, 0);

const isSilent = ({ first, second }: Spectra): boolean => {
  const [one, other] = [total(first), total(second)];
  return !(Math.min(one, other) > NOTHING * Math.max(one, other));
};

/** Coherence of each bin, and its weight in the search. */
interface Bins {
  readonly coherence: Float64Array;
  readonly weight: Float64Array;
  readonly mean: number;
}

const binsOf = ({ first, second, crossReal, crossImaginary, segments }: Spectra): Bins => {
  const power = first.map((each, k) => Math.sqrt(each * second[k]!));
  const least = LEAST_POWER * power.reduce((greatest, each) => Math.max(greatest, each), 0);
  const byChance = 1 - CHANCE ** (1 / (segments - 1));
  const coherence = new Float64Array(power.length);
  const weight = new Float64Array(power.length);
  let shared = 0;
  let whole = 0;
  for (let k = 1; k < power.length - 1; k++) {
    if (!(power[k]! > least)) continue;
    const raw = (crossReal[k]! ** 2 + crossImaginary[k]! ** 2) / power[k]! ** 2;
    // With few segments unrelated signals have a coherence of 1 / segments on average; it is subtracted.
    coherence[k] = Math.max(0, (raw - 1 / segments) / (1 - 1 / segments));
    if (raw > byChance) weight[k] = coherence[k]! / (1 - coherence[k]! + COHERENCE_ROOM);
    shared += coherence[k]! * power[k]!;
    whole += power[k]!;
  }
  return { coherence, weight, mean: whole > 0 ? shared / whole : 0 };
};

/** A lag in whole samples, and how well it explains the phases between two signals. */
interface Found {
  readonly lag: number;
  readonly polarity: 1 | -1;
  readonly explained: number;
  /** The same for a lag of 0. */
  readonly atNone: number;
}

/** The lags at which the cross spectrum, with `phase` subtracted from its phases, has the largest sum, the best first. */
const strongestLags = (
  { crossReal, crossImaginary }: Spectra,
  weight: Float64Array,
  phase: Float64Array | null,
): Found[] => {
  const weighted = new Float64Array(2 * SEGMENT);
  let whole = 0;
  for (let k = 1; k < weight.length - 1; k++) {
    if (!(weight[k]! > 0)) continue;
    const angle = Math.atan2(crossImaginary[k]!, crossReal[k]!) - (phase?.[k] ?? 0);
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
  const at = (lag: number): number => correlation[2 * ((lag + SEGMENT) % SEGMENT)]! / whole;
  const isPeak = (lag: number): boolean =>
    lag === 0 || (Math.abs(at(lag)) >= Math.abs(at(lag - 1)) && Math.abs(at(lag)) > Math.abs(at(lag + 1)));
  return Array.from({ length: 2 * GREATEST_LAG + 1 }, (_, n) => n - GREATEST_LAG)
    .filter(isPeak)
    .map((lag): Found => ({
      lag,
      polarity: at(lag) < 0 ? -1 : 1,
      explained: Math.abs(at(lag)),
      atNone: at(0),
    }))
    .sort((one, other) => other.explained - one.explained || Math.abs(one.lag) - Math.abs(other.lag));
};

/** As found through filters, whose phase is known only so well: see AS_GOOD. */
const levelledOut = (found: Found): Found => {
  const { lag, explained, atNone } = found;
  const isVague = Math.abs(lag) <= NEAR && explained < CLEAR;
  if (Math.abs(atNone) < (isVague ? AS_GOOD_NEAR : AS_GOOD) * explained) return found;
  return { lag: 0, polarity: atNone < 0 ? -1 : 1, explained: Math.abs(atNone), atNone };
};

/** Phase of the minimum-phase filter from the first to the second, where their coherence is high enough. */
const filterPhase = ({ first, crossReal, crossImaginary }: Spectra, coherence: Float64Array): Float64Array =>
  minimumPhaseOf(
    first.map((power, k) =>
      coherence[k]! >= TELLING ? Math.hypot(crossReal[k]!, crossImaginary[k]!) / power : Number.NaN,
    ),
  );

/** A lag beyond a whole one, samples, -1..1, and how well it explains the phases between two signals. */
interface Part {
  readonly part: number;
  readonly explained: number;
  /** How well the whole lag alone does. */
  readonly atWhole: number;
}

/** The fraction within one sample to either side of a whole lag at which the sum is largest. */
const partBeyond = (
  { crossReal, crossImaginary }: Spectra,
  weight: Float64Array,
  { lag, polarity }: Pick<Found, 'lag' | 'polarity'>,
): Part => {
  const turns = weight.map((_, k) => (2 * Math.PI * k) / SEGMENT);
  const phases = turns.map(
    (turn, k) => Math.atan2(polarity * crossImaginary[k]!, polarity * crossReal[k]!) + turn * lag,
  );
  const fit = (part: number): number =>
    weight.reduce((sum, each, k) => sum + (each > 0 ? each * Math.cos(phases[k]! + turns[k]! * part) : 0), 0);
  const part = greatestAt(fit, -1, 1);
  const whole = weight.reduce((sum, each) => sum + each, 0);
  return { part, explained: fit(part) / whole, atWhole: fit(0) / whole };
};

/**
 * A fraction of a sample is reported only if it leaves less than this part of what the whole lag leaves unexplained:
 * filters, distortion and other sounds also shift the best lag by a fraction of a sample, but explain hardly more
 * there.
 */
const LESS_LEFT = 0.1;

/** A whole lag and its fraction. */
interface Exact extends Part {
  readonly whole: number;
  readonly polarity: 1 | -1;
}

/**
 * Refines a rough lag: the first is shifted by it and the lag measured again, so that the windows contain the same sound of
 * both: for exact copies everything is then explained.
 */
const exactly = (first: Float32Array, second: Float32Array, { lag, polarity, part }: Rival): Exact => {
  // Not -0.
  const whole = Math.round(lag + part) + 0;
  const spectra = averagedSpectra(shiftedBy(first, whole), second);
  return { whole, polarity, ...partBeyond(spectra, binsOf(spectra).weight, { lag: 0, polarity }) };
};

/** The lag to 0.01 samples; whole where filters or other sound explain the fraction equally well. */
const hundredths = ({ whole, part, explained, atWhole }: Exact, filtered: Found): number => {
  const otherwise = Math.max(atWhole, filtered.lag === whole ? filtered.explained : 0);
  return 1 - explained < LESS_LEFT * (1 - otherwise) ? Math.round(100 * (whole + part)) / 100 : whole;
};

/** A rough lag, and its fraction. */
type Rival = Found & Part;

/** Candidate lags: the best of those that explain nearly as much, and the nearest to 0. */
const rivalsOf = (spectra: Spectra, weight: Float64Array, lags: readonly Found[]): readonly Rival[] => {
  const close = lags.filter(({ explained }) => explained >= RIVAL * lags[0]!.explained);
  const nearest = [...close].sort((one, other) => Math.abs(one.lag) - Math.abs(other.lag)).slice(0, NEAREST_RIVALS);
  const between = (found: Found): Rival => ({ ...found, ...partBeyond(spectra, weight, found) });
  const best = close
    .slice(0, close.length > MOST_EXACT ? MOST_BETWEEN : MOST_EXACT)
    .map(between)
    .sort((one, other) => other.explained - one.explained)
    .slice(0, MOST_EXACT);
  return [...best, ...nearest.filter((each) => !best.some(({ lag }) => lag === each.lag)).map(between)];
};

/**
 * Of lags that explain nearly as much as the best, that which explains most when taken exactly; of those that explain as
 * much, as those of a steady tone do, the nearest that is not inverted, and how far from it the next one lies.
 */
const exactLag = (
  first: Float32Array,
  second: Float32Array,
  spectra: Spectra,
  weight: Float64Array,
  lags: readonly Found[],
): Exact & { readonly repeats: number | null } => {
  const tried = rivalsOf(spectra, weight, lags).map((rival) => exactly(first, second, rival));
  const most = Math.max(...tried.map(({ explained }) => explained));
  const lagOf = ({ whole, part }: Exact): number => whole + part;
  const alike = tried
    .filter(({ explained }) => explained >= most - ALIKE)
    .sort((one, other) => other.polarity - one.polarity || Math.abs(lagOf(one)) - Math.abs(lagOf(other)));
  const best = alike[0]!;
  const apart = alike.map((each) => Math.abs(lagOf(each) - lagOf(best))).filter((each) => each > 1);
  return { ...best, repeats: apart.length > 0 ? Math.min(...apart) : null };
};

/**
 * Lag, polarity and coherence of `second` against `first` (one channel each, one rate), by generalised
 * cross-correlation with the maximum-likelihood weights of Knapp and Carter (IEEE Trans. ASSP 24(4), 1976; formula from
 * memory): each bin counts by coherence / (1 - coherence), whitened. Looks for lags up to GREATEST_LAG samples.
 *
 * Filters shift phase without a delay. So two explanations are compared: a delay alone, and a delay after the filter
 * of minimum phase that has the magnitude response between the two; the one that explains more is taken. A copy of part
 * of a sound beside other sound has such a response too, but a delay alone then explains it better, and is read exactly.
 *
 * null when either is silent, or when the two share too little (mean coherence below LEAST_COHERENCE).
 */
export const alignmentOf = (first: Float32Array, second: Float32Array): Alignment | null => {
  const spectra = averagedSpectra(first, second);
  if (spectra.segments < 2 || isSilent(spectra)) return null;
  const { coherence, weight, mean } = binsOf(spectra);
  if (!(mean >= LEAST_COHERENCE)) return null;
  // In a short sound no bin may be significant.
  const told = weight.subarray(1, -1).reduce((sum, each) => sum + each, 0);
  if (!(told > 0 && told < Infinity)) return null;
  const plain = strongestLags(spectra, weight, null);
  const filtered = levelledOut(strongestLags(spectra, weight, filterPhase(spectra, coherence))[0]!);
  const exact = exactLag(first, second, spectra, weight, plain);
  if (exact.explained < filtered.explained) {
    return { lagSamples: filtered.lag, polarity: filtered.polarity, coherence: mean, explained: filtered.explained };
  }
  const { polarity, explained, repeats } = exact;
  const found = { lagSamples: hundredths(exact, filtered), polarity, coherence: mean, explained };
  return repeats === null ? found : { ...found, repeats: Math.round(100 * repeats) / 100 };
};
