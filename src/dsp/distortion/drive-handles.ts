import type { PictureHandle } from '../core/picture-handle.ts';

/** The drive is taken hold of at this sample of the input. */
const DRIVE_AT = 0.5;
/** A whole picture up is so much more drive, dB. */
const DB_A_UNIT = 24;

/** Drive upwards on the transfer curve, and the bias along its middle; samples in and out. */
export const driveHandles = (
  { drive, bias }: { readonly drive: number; readonly bias: number },
  transfer: (x: number) => number,
): PictureHandle[] => {
  const y = transfer(DRIVE_AT);
  return [
    { id: 'bias', label: 'Bias', x: bias / 100, y: 0, across: { parameter: 'bias', at: (place) => 100 * place } },
    {
      id: 'drive',
      label: 'Drive',
      x: DRIVE_AT,
      y,
      up: { parameter: 'drive', at: (place) => drive + (place - y) * DB_A_UNIT },
    },
  ];
};
