import { FIGURE_KEYS, type FigureKey } from './definitions.ts';
import type { Figures, StereoFigures } from './figures.ts';

/** Figures that are one number each; the bands are a table of their own. */
export const SINGLE_FIGURES: readonly FigureKey[] = FIGURE_KEYS.filter((key) => !key.startsWith('bands.'));

/** One of the single figures by its key. */
export const figureOf = (figures: Figures, key: FigureKey): number | null =>
  key.startsWith('stereo.')
    ? figures.stereo[key.slice('stereo.'.length) as keyof StereoFigures]
    : figures[key as Exclude<keyof Figures, 'stereo' | 'bands'>];

/** A number with so many decimals, never "-0.0"; a figure that does not exist is a dash. */
export const numberText = (value: number | null, decimals: number): string => {
  if (value === null) return '-';
  const text = value.toFixed(decimals);
  return Number(text) === 0 ? text.replace('-', '') : text;
};

/** A change with its sign. */
export const changeText = (value: number | null, decimals: number): string => {
  const text = numberText(value, decimals);
  return value !== null && value > 0 && Number(text) !== 0 ? `+${text}` : text;
};
