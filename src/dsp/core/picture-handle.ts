import { gainOf } from '../../audio/decibels.ts';
import type { Settings } from './parameter.ts';

/** What one direction of a handle sets. */
export interface HandleAxis {
  readonly parameter: string;
  /** Value of the parameter where the handle is at `place`, in the picture's numbers; it may lie beyond the parameter's range. */
  readonly at: (place: number) => number;
}

/** A point of a picture that can be dragged: where it is, and what moving it sets. */
export interface PictureHandle {
  readonly id: string;
  readonly label: string;
  /** Its place in the picture's numbers; it may lie outside the picture. */
  readonly x: number;
  readonly y: number;
  readonly across?: HandleAxis;
  readonly up?: HandleAxis;
  /** Parameter of the wheel: how narrow a band is, how wide a knee. */
  readonly wheel?: string;
  /** Parameter of two fingers, the Q of a band: the further apart, the wider. */
  readonly pinch?: string;
  /** Settings that take it away; absent: it always stands. */
  readonly remove?: Settings;
  /** A line of its own, in the picture's numbers. */
  readonly guide?: readonly (readonly [number, number])[];
}

/** A handle that is not there yet, and the settings that add it. */
export interface AddedHandle {
  readonly id: string;
  readonly settings: Settings;
}

/** A share, %, by its level, dB; none at the floor of the picture. */
export const percentOfDecibels = (db: number, floorDb: number): number => (db <= floorDb ? 0 : 100 * gainOf(db));
