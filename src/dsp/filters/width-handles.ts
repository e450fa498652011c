import { decibelsOf } from '../../audio/decibels.ts';
import type { PictureHandle } from '../core/picture-handle.ts';

interface Widths {
  /** Level of the side by band, %. */
  readonly lowWidth: number;
  readonly midWidth: number;
  readonly highWidth: number;
  /** Hz */
  readonly lowCorner: number;
  readonly highCorner: number;
}

/** Ends of what is heard, Hz. */
const [LOWEST, HIGHEST] = [20, 20_000];
const BANDS = ['low', 'mid', 'high'] as const;
const LABELS = { low: 'Low width', mid: 'Mid width', high: 'High width' } as const;

const middleOf = (from: number, to: number): number => Math.sqrt(from * to);

/** Width of each band up, in the middle of it, and the corners along 0 dB; Hz across, dB of the side up. */
export const widthHandles = (values: Widths, floorDb: number): PictureHandle[] => {
  const edges = [LOWEST, values.lowCorner, values.highCorner, HIGHEST] as const;
  const widths = BANDS.map((band, n): PictureHandle => {
    const parameter = `${band}Width` as const;
    return {
      id: parameter,
      label: LABELS[band],
      x: middleOf(edges[n]!, edges[n + 1]!),
      y: Math.max(floorDb, decibelsOf(values[parameter] / 100)),
      up: { parameter, at: (place) => (place <= floorDb ? 0 : 100 * 10 ** (place / 20)) },
    };
  });
  const corner = (parameter: 'lowCorner' | 'highCorner', label: string): PictureHandle => ({
    id: parameter,
    label,
    x: values[parameter],
    y: 0,
    across: { parameter, at: (place) => place },
  });
  return [corner('lowCorner', 'Low corner'), corner('highCorner', 'High corner'), ...widths];
};
