import type { Parameters, Values } from './parameter.ts';
import type { Picture } from './processor.ts';

/** Steady output levels over input levels, from `floorDb` to 0 dB. */
export const levelPicture = <P extends Parameters>(
  floorDb: number,
  outDb: (values: Values<P>, inDb: number) => number,
  handles: NonNullable<Picture<P>['handles']>,
): Picture<P> => ({
  kind: 'level',
  x: [floorDb, 0],
  y: [floorDb, 0],
  drawn: 'line',
  points: (values, _sampleRate, count) =>
    Array.from({ length: count }, (_, index) => {
      const inDb = floorDb - (floorDb * index) / Math.max(1, count - 1);
      return [inDb, outDb(values, inDb)] as const;
    }),
  handles,
});

/** Output samples over input samples, from -1 to 1. */
export const transferPicture = <P extends Parameters>(
  points: (values: Values<P>, count: number) => ReturnType<Picture<P>['points']>,
  handles?: Picture<P>['handles'],
  transfer?: Picture<P>['transfer'],
): Picture<P> => ({
  kind: 'transfer',
  x: [-1, 1],
  y: [-1, 1],
  drawn: 'line',
  points: (values, _sampleRate, count) => points(values, count),
  ...(handles && { handles }),
  ...(transfer && { transfer }),
});
