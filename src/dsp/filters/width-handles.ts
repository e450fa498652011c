import { decibelsOf } from '../../audio/decibels.ts';
import { percentOfDecibels, type PictureHandle } from '../core/picture-handle.ts';

interface Widths {
  /** Level of the side by band, %. */
  readonly lowWidth: number;
  readonly midWidth: number;
  readonly highWidth: number;
  /** Hz */
  readonly lowCorner: number;
  readonly highCorner: number;
  readonly monoBelow: number;
}

/** Ends of the audible range, Hz. */
const [LOWEST, HIGHEST] = [20, 20_000];
const BANDS = ['low', 'mid', 'high'] as const;
const LABELS = { low: 'Low width', mid: 'Mid width', high: 'High width' } as const;

const middleOf = (from: number, to: number): number => Math.sqrt(from * to);

/** Width of a band, %, upwards in the middle of it. */
export const widthHandle = (
  parameter: string,
  label: string,
  [from, to]: readonly [number, number],
  width: number,
  floorDb: number,
): PictureHandle => ({
  id: parameter,
  label,
  x: middleOf(from, to),
  y: Math.max(floorDb, decibelsOf(width / 100)),
  up: { parameter, at: (place) => percentOfDecibels(place, floorDb) },
});

/** Corner of the mono lows, where the side is 6 dB down (two Butterworth cuts of 3 dB in a row). */
export const monoBelowHandle = (monoBelow: number): PictureHandle => ({
  id: 'monoBelow',
  label: 'Mono below',
  x: monoBelow,
  y: -6,
  across: { parameter: 'monoBelow', at: (place) => place },
});

/** Width of each band up, in the middle of it, and the corners along 0 dB; Hz across, dB of the side up. */
export const widthHandles = (values: Widths, floorDb: number): PictureHandle[] => {
  const edges = [LOWEST, values.lowCorner, values.highCorner, HIGHEST] as const;
  const widths = BANDS.map((band, n) => {
    const parameter = `${band}Width` as const;
    return widthHandle(parameter, LABELS[band], [edges[n]!, edges[n + 1]!], values[parameter], floorDb);
  });
  const corner = (parameter: 'lowCorner' | 'highCorner', label: string): PictureHandle => ({
    id: parameter,
    label,
    x: values[parameter],
    y: 0,
    across: { parameter, at: (place) => place },
  });
  return [
    monoBelowHandle(values.monoBelow),
    corner('lowCorner', 'Low crossover'),
    corner('highCorner', 'High crossover'),
    ...widths,
  ];
};
