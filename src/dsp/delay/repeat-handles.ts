import { decibelsOf } from '../../audio/decibels.ts';
import { percentOfDecibels, type PictureHandle } from '../core/picture-handle.ts';

interface Repeats {
  /** ms */
  readonly time: number;
  /** Time of the second repeat, ms. */
  readonly second: number;
  /** Level of each repeat against the one before, %. */
  readonly feedback: number;
  /** Share of the repeats, %. */
  readonly mix: number;
}

/** Time at the first repeat, feedback at the second; seconds across, dB up. */
export const repeatHandles = ({ time, second, feedback, mix }: Repeats, floorDb: number): PictureHandle[] => {
  const first = Math.max(floorDb, decibelsOf(mix / 100));
  const next = Math.max(floorDb, first + decibelsOf(feedback / 100));
  return [
    {
      id: 'feedback',
      label: 'Feedback',
      x: second / 1000,
      y: next,
      up: { parameter: 'feedback', at: (place) => percentOfDecibels(place - first, floorDb - first) },
    },
    {
      id: 'time',
      label: 'Time',
      x: time / 1000,
      y: first,
      across: { parameter: 'time', at: (place) => 1000 * place },
    },
  ];
};
