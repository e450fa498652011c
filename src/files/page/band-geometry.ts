import { scaleLinear, scaleLog } from 'd3-scale';
import { area, curveMonotoneX, line } from 'd3-shape';
import { bandLoudness } from '../../measure/loudness/band-loudness.ts';
import { difference, type BandFigures, type Figures } from '../../measure/figures.ts';

export interface BandValue {
  readonly hz: number;
  readonly value: number | null;
}

export interface Chart {
  readonly width: number;
  readonly height: number;
  readonly low: number;
  readonly high: number;
}

/** Horizontal scale of bands: 20 Hz to the upper edge of the 20 kHz band, logarithmic. */
export const bandX = (width: number) => scaleLog([20, 22_400], [0, width]);

export const valueY = ({ height, low, high }: Chart) => scaleLinear([low, high], [height, 0]).clamp(true);

/**
 * Spectrum of `b` less that of `a`, both first brought to the same loudness (see `bandLoudness`): what remains is tone,
 * neither level nor length. Bands that are missing in either are null.
 */
export const spectrumAgainst = (a: Figures, b: Figures): BandValue[] => {
  const common = (bands: Figures['bands'], others: Figures['bands']): Figures['bands'] =>
    bands.filter(({ hz }) => others.some((other) => other.hz === hz));
  const louder = difference(bandLoudness(common(a.bands, b.bands)), bandLoudness(common(b.bands, a.bands))) ?? 0;
  return b.bands.map(({ hz, levelDb }, i) => {
    const change = difference(a.bands[i]?.levelDb ?? null, levelDb);
    return { hz, value: change === null ? null : change - louder };
  });
};

/** Side to mid by band. */
export const widthByBand = ({ bands }: { readonly bands: readonly BandFigures[] }): BandValue[] =>
  bands.map(({ hz, sideToMidDb }) => ({ hz, value: sideToMidDb }));

/** Level change by band, for the small drawing of a ledger row. */
export const levelByBand = ({ bands }: { readonly bands: readonly BandFigures[] }): BandValue[] =>
  bands.map(({ hz, levelDb }) => ({ hz, value: levelDb }));

const isShown = ({ hz, value }: BandValue): boolean => value !== null && hz >= 20 && hz <= 20_000;

/** One bar for each band, from 0 dB up or down. */
export const bandBars = (values: readonly BandValue[], chart: Chart) => {
  const x = bandX(chart.width);
  const y = valueY(chart);
  const wide = Math.max(1.5, chart.width / 31 - 2.5);
  return values.filter(isShown).map(({ hz, value }) => {
    const top = Math.min(y(0), y(value!));
    return { hz, x: x(hz) - wide / 2, y: top, width: wide, height: Math.max(0.75, Math.abs(y(value!) - y(0))) };
  });
};

/** A line through the bands, with gaps where there is no value. */
export const bandLine = (values: readonly BandValue[], chart: Chart): string => {
  const x = bandX(chart.width);
  const y = valueY(chart);
  return (
    line<BandValue>(
      ({ hz }) => x(hz),
      ({ value }) => y(value ?? 0),
    )
      .defined(isShown)
      .curve(curveMonotoneX)([...values]) ?? ''
  );
};

/** The area between 0 dB and the line through the bands. */
export const bandArea = (values: readonly BandValue[], chart: Chart): string => {
  const x = bandX(chart.width);
  const y = valueY(chart);
  const outline = area<BandValue>(
    ({ hz }) => x(hz),
    y(0),
    ({ value }) => y(value ?? 0),
  )
    .defined(isShown)
    .curve(curveMonotoneX);
  return outline([...values]) ?? '';
};

/** The smallest of a few round ranges that holds all values, dB either side of 0. */
export const evenRange = (values: readonly BandValue[], choices: readonly number[]): number => {
  const most = Math.max(0, ...values.filter(isShown).map(({ value }) => Math.abs(value!)));
  return choices.find((choice) => choice >= most) ?? choices.at(-1)!;
};
