import type { AddedHandle, PictureHandle } from '../core/picture-handle.ts';
import { hasGain, isCut, type Shape } from './band-design.ts';

/** What of a band places its handle. */
export interface HeldBand {
  /** Its number, 1 first. */
  readonly number: number;
  readonly on: boolean;
  readonly shape: Shape;
  readonly hz: number;
  readonly gainDb: number;
}

const handleOf = ({ number, shape, hz, gainDb }: HeldBand): PictureHandle => {
  const id = `band${number}`;
  const turned = hasGain(shape);
  return {
    id,
    label: `Band ${number}`,
    x: hz,
    y: turned ? gainDb : 0,
    across: { parameter: `${id}.frequency`, at: (place) => place },
    ...(turned && { up: { parameter: `${id}.gain`, at: (place: number) => place } }),
    ...(isCut(shape) ? { wheel: `${id}.slope` } : { wheel: `${id}.q`, pinch: `${id}.q` }),
    remove: { [`${id}.on`]: false },
  };
};

/** A handle for each band that is on: across its frequency, up its gain, on the wheel its Q, or the slope of a cut. */
export const eqHandles = (bands: readonly HeldBand[]): PictureHandle[] => bands.filter(({ on }) => on).map(handleOf);

const octavesBetween = (a: number, b: number): number => Math.abs(Math.log2(a / b));

/** Switches on, as a bell at a place, the band whose frequency is nearest of those that are off. */
export const addedBell = (bands: readonly HeldBand[], [hz, gainDb]: readonly [number, number]): AddedHandle | null => {
  const [free] = bands.filter(({ on }) => !on).toSorted((a, b) => octavesBetween(a.hz, hz) - octavesBetween(b.hz, hz));
  if (!free) return null;
  const id = `band${free.number}`;
  return {
    id,
    settings: {
      [`${id}.on`]: true,
      [`${id}.shape`]: 'bell',
      [`${id}.frequency`]: hz,
      [`${id}.gain`]: gainDb,
      [`${id}.q`]: 1,
    },
  };
};
