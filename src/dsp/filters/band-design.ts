import {
  angleOf,
  COEFFICIENTS,
  type Coefficients,
  designBandPass,
  designBell,
  designHighCut,
  designHighCut1,
  designLowCut,
  designLowCut1,
  designNotch,
  designShelf,
  designTilt,
  magnitudeDb,
} from './biquad.ts';
import type { Branch } from './frequency-map.ts';
import { designMatched, designMatchedCut1, type MatchedShape } from './matched-design.ts';

export const SHAPES = [
  'bell',
  'low shelf',
  'high shelf',
  'low cut',
  'high cut',
  'tilt',
  'band-pass',
  'notch',
] as const satisfies readonly MatchedShape[];
export type Shape = (typeof SHAPES)[number];

/** One filter band. All shapes are of second order but the cuts, which are Butterworth of any order to 16. */
export interface BandDesign {
  readonly shape: Shape;
  /** Hz; kept below half the sample rate by `limitHz`. */
  readonly hz: number;
  /** Of a bell, shelf or tilt. */
  readonly gainDb: number;
  /** Of all shapes but cuts. */
  readonly q: number;
  /** Of a cut: 6 dB an octave each. */
  readonly order: number;
  /** True: the analogue magnitude up to the top of the band (`matched-design.ts`). Otherwise the cookbook's design. */
  readonly matched?: boolean;
}

/** Sections that the steepest band needs. */
export const MAX_SECTIONS = 16;

export const isCut = (shape: Shape): boolean => shape === 'low cut' || shape === 'high cut';

/** True for the shapes that are a wire at 0 dB. */
export const hasGain = (shape: Shape): boolean =>
  shape === 'bell' || shape === 'low shelf' || shape === 'high shelf' || shape === 'tilt';

export const sectionCount = ({ shape, order, matched }: Pick<BandDesign, 'shape' | 'order' | 'matched'>): number => {
  if (!isCut(shape)) return matched ? 2 : 1;
  return matched ? order : Math.ceil(order / 2);
};

/** A band's frequency held below half the sample rate, where the designs end. */
export const limitHz = (hz: number, sampleRate: number): number => Math.min(hz, 0.49 * sampleRate);

/**
 * Quality of section `index` of a Butterworth filter: its poles stand evenly on a half circle (Butterworth 1930).
 * Sections go from the dampest to the most resonant, which keeps the levels between them low.
 */
export const butterworthQ = (order: number, index: number): number => {
  const odd = order % 2;
  return 1 / (2 * Math.cos((Math.PI * (2 * index + 1 + odd)) / (2 * order)));
};

const designCut = (into: Coefficients, index: number, low: boolean, order: number, angle: number): void => {
  const odd = order % 2;
  if (odd && index === 0) return low ? designLowCut1(into, angle) : designHighCut1(into, angle);
  const q = butterworthQ(order, index - odd);
  return low ? designLowCut(into, angle, q) : designHighCut(into, angle, q);
};

const designCookbook = (
  into: Coefficients,
  index: number,
  shape: Shape,
  order: number,
  angle: number,
  gainDb: number,
  q: number,
): void => {
  switch (shape) {
    case 'bell':
      return designBell(into, angle, gainDb, q);
    case 'low shelf':
    case 'high shelf':
      return designShelf(into, angle, gainDb, q, shape === 'low shelf');
    case 'tilt':
      return designTilt(into, angle, gainDb, q);
    case 'band-pass':
      return designBandPass(into, angle, q);
    case 'notch':
      return designNotch(into, angle, q);
    case 'low cut':
    case 'high cut':
      return designCut(into, index, shape === 'low cut', order, angle);
  }
};

/** Writes section `index` of a band whose frequency is `angle` into `into`; allocates nothing. */
export const designSection = (
  into: Coefficients,
  index: number,
  { shape, order, matched }: Pick<BandDesign, 'shape' | 'order' | 'matched'>,
  angle: number,
  gainDb: number,
  q: number,
): void => {
  if (!matched) return designCookbook(into, index, shape, order, angle, gainDb, q);
  const odd = isCut(shape) ? order % 2 : 0;
  if (odd && index === 0) return designMatchedCut1(into, shape === 'low cut', angle);
  const which = index - odd;
  const sectionQ = isCut(shape) ? butterworthQ(order, which >> 1) : q;
  return designMatched(into, shape, (which & 1) as Branch, angle, gainDb, sectionQ);
};

/** All sections of a band, the same numbers that its kernel runs. */
export const designBand = (band: BandDesign, sampleRate: number): readonly Coefficients[] =>
  Array.from({ length: sectionCount(band) }, (_, index) => {
    const into = new Float64Array(COEFFICIENTS);
    designSection(into, index, band, angleOf(limitHz(band.hz, sampleRate), sampleRate), band.gainDb, band.q);
    return into;
  });

/** Gain of sections in series at a frequency, dB. */
export const cascadeDb = (sections: readonly Coefficients[], hz: number, sampleRate: number): number =>
  sections.reduce((sum, section) => sum + magnitudeDb(section, angleOf(hz, sampleRate)), 0);
