import { gainOf } from '../../audio/decibels.ts';
import type { Settings } from './parameter.ts';

/** The parameter that one direction of a handle sets. */
export interface HandleAxis {
  readonly parameter: string;
  /** Value of the parameter where the handle is at `place`, in the picture's numbers; it may lie beyond the parameter's range. */
  readonly at: (place: number) => number;
}

/** A draggable point of a picture: its position, and the parameters that it sets. */
export interface PictureHandle {
  readonly id: string;
  readonly label: string;
  /** Its position in the picture's units; it may lie outside the picture. */
  readonly x: number;
  readonly y: number;
  readonly across?: HandleAxis;
  readonly up?: HandleAxis;
  /** Parameter of the wheel: how narrow a band is, how wide a knee. */
  readonly wheel?: string;
  /** Parameter of two fingers, the Q of a band: the further apart, the wider. */
  readonly pinch?: string;
  /** Settings that remove it; absent: it cannot be removed. */
  readonly remove?: Settings;
  /** A line that belongs to it, in the picture's units. */
  readonly guide?: readonly (readonly [number, number])[];
}

/** A new handle, and the settings that add it. */
export interface AddedHandle {
  readonly id: string;
  readonly settings: Settings;
}

/** A share, %, from its level, dB; 0 at the floor of the picture. */
export const percentOfDecibels = (db: number, floorDb: number): number => (db <= floorDb ? 0 : 100 * gainOf(db));
