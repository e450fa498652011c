import {
  angleOf,
  COEFFICIENTS,
  type Coefficients,
  designBell,
  designHighCut,
  designHighCut1,
  designLowCut,
  designLowCut1,
  designShelf,
  magnitudeDb,
} from './biquad.ts';

export const SHAPES = ['bell', 'low shelf', 'high shelf', 'low cut', 'high cut'] as const;
export type Shape = (typeof SHAPES)[number];

/** One filter band. Bells and shelves have gain and q and are of second order; cuts are Butterworth of any order to 8. */
export interface BandDesign {
  readonly shape: Shape;
  /** Hz; kept below half the sample rate by `limitHz`. */
  readonly hz: number;
  readonly gainDb: number;
  readonly q: number;
  /** Of a cut: 6 dB an octave each. */
  readonly order: number;
}

/** Sections that the steepest band needs. */
export const MAX_SECTIONS = 4;

export const isCut = (shape: Shape): boolean => shape === 'low cut' || shape === 'high cut';

export const sectionCount = ({ shape, order }: Pick<BandDesign, 'shape' | 'order'>): number =>
  isCut(shape) ? Math.ceil(order / 2) : 1;

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

/** Writes section `index` of a band into `into`; allocates nothing. */
export const designSection = (
  into: Coefficients,
  index: number,
  shape: Shape,
  order: number,
  angle: number,
  gainDb: number,
  q: number,
): void => {
  if (shape === 'bell') return designBell(into, angle, gainDb, q);
  if (!isCut(shape)) return designShelf(into, angle, gainDb, q, shape === 'low shelf');
  const low = shape === 'low cut';
  const odd = order % 2;
  if (odd && index === 0) return low ? designLowCut1(into, angle) : designHighCut1(into, angle);
  const sectionQ = butterworthQ(order, index - odd);
  return low ? designLowCut(into, angle, sectionQ) : designHighCut(into, angle, sectionQ);
};

/** All sections of a band, the same numbers that its kernel runs. */
export const designBand = ({ shape, order, hz, gainDb, q }: BandDesign, sampleRate: number): readonly Coefficients[] =>
  Array.from({ length: sectionCount({ shape, order }) }, (_, index) => {
    const into = new Float64Array(COEFFICIENTS);
    designSection(into, index, shape, order, angleOf(limitHz(hz, sampleRate), sampleRate), gainDb, q);
    return into;
  });

/** Gain of sections in series at a frequency, dB. */
export const cascadeDb = (sections: readonly Coefficients[], hz: number, sampleRate: number): number =>
  sections.reduce((sum, section) => sum + magnitudeDb(section, angleOf(hz, sampleRate)), 0);
