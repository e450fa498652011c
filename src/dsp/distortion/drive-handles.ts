import type { PictureHandle } from '../core/picture-handle.ts';

/** The drive is taken hold of at this sample of the input. */
export const DRIVE_AT = 0.5;
/** A whole picture up is so much more drive, dB. */
const DB_A_UNIT = 24;

/** Drive upwards on the transfer curve, which is at `y` there. */
export const driveHandle = (drive: number, y: number): PictureHandle => ({
  id: 'drive',
  label: 'Drive',
  x: DRIVE_AT,
  y,
  up: { parameter: 'drive', at: (place) => drive + (place - y) * DB_A_UNIT },
});

/** The bias along the middle of the transfer curve. */
export const biasHandle = (bias: number): PictureHandle => ({
  id: 'bias',
  label: 'Bias',
  x: bias / 100,
  y: 0,
  across: { parameter: 'bias', at: (place) => 100 * place },
});
