import type { PlainKey, SingleKey, StereoKey } from './definitions.ts';
import type { Figures } from '../figures.ts';

/** One of the single figures by its key. */
export const figureOf = (figures: Figures, key: SingleKey): number | null =>
  key.startsWith('stereo.') ? figures.stereo[key.slice('stereo.'.length) as StereoKey] : figures[key as PlainKey];

/** A number with `decimals` decimals, never "-0.0"; "-" for a figure that does not exist. */
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
