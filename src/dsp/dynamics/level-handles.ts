import type { PictureHandle } from '../core/picture-handle.ts';

// Handles on static curves: level in across, level out up, dB.

interface Compression {
  readonly threshold: number;
  /** Slope: dB of reduction for each dB above the threshold, 1 - 1 / ratio. */
  readonly slope: number;
  readonly makeUp: number;
}

/** Input level of the make-up's handle, where the curve is straight for most thresholds, dB. */
const MAKE_UP_AT = -54;
/** So far below 0 dB a threshold leaves room to tell the ratio by, dB. */
const LEAST_ABOVE = 1;

/** Threshold (knee on the wheel), ratio at full scale, make-up; `outDb`: the curve. */
export const compressionHandles = (
  { threshold, slope, makeUp }: Compression,
  outDb: (inDb: number) => number,
): PictureHandle[] => {
  const above = Math.max(LEAST_ABOVE, -threshold);
  const ratioAt = (place: number): number => 1 / (1 - Math.min(0.99, Math.max(0, (makeUp - place) / above)));
  return [
    {
      id: 'makeUp',
      label: 'Make-up',
      x: MAKE_UP_AT,
      y: outDb(MAKE_UP_AT),
      up: { parameter: 'makeUp', at: (place) => makeUp + place - outDb(MAKE_UP_AT) },
    },
    {
      id: 'ratio',
      label: 'Ratio',
      x: 0,
      y: makeUp - slope * above,
      up: { parameter: 'ratio', at: ratioAt },
    },
    {
      id: 'threshold',
      label: 'Threshold',
      x: threshold,
      y: outDb(threshold),
      across: { parameter: 'threshold', at: (place) => place },
      wheel: 'knee',
    },
  ];
};

/** Threshold (ratio on the wheel), and the range at the lowest level that is shown. */
export const gateHandles = (
  { threshold, range, ratio }: { readonly threshold: number; readonly range: number; readonly ratio: number },
  floorDb: number,
): PictureHandle[] => {
  // Where the curve has come down by the whole range, or leaves the picture before that.
  const under = ratio > 1 ? range / (ratio - 1) : 0;
  const x = Math.max(floorDb + 2, threshold - under);
  const y = Math.max(floorDb, x - range);
  return [
    {
      id: 'range',
      label: 'Range',
      x,
      y,
      up: { parameter: 'range', at: (place) => range - (place - y) },
    },
    {
      id: 'threshold',
      label: 'Threshold',
      x: threshold,
      y: threshold,
      across: { parameter: 'threshold', at: (place) => place },
      wheel: 'ratio',
    },
  ];
};

/** Least distance of handles that could overlap, dB. */
const APART = 3;

/** Ceiling at full scale; the drive where the curve reaches it. */
export const limiterHandles = ({
  ceiling,
  drive,
}: {
  readonly ceiling: number;
  readonly drive: number;
}): PictureHandle[] => {
  const top = Math.min(0, ceiling);
  return [
    { id: 'ceiling', label: 'Ceiling', x: 0, y: top, up: { parameter: 'ceiling', at: (place) => place } },
    {
      id: 'drive',
      label: 'Drive',
      x: top - drive - APART,
      y: top - APART,
      across: { parameter: 'drive', at: (place) => top - APART - place },
    },
  ];
};
