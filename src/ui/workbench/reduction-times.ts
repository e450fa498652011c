import type { NumberParameter, Parameters, Values } from '../../dsp/core/parameter.ts';
import type { PictureHandle } from '../../dsp/core/picture-handle.ts';
import { placeOf, valueAt } from './parameter-scale.ts';

/** Attack and release of a processor, in their order, each as a handle in its half of a picture from 0 to 1, 0 at the top. */
export const reductionTimes = (parameters: Parameters, values: Values): PictureHandle[] =>
  (['attack', 'release'] as const).flatMap((id, half) => {
    const parameter = parameters[id];
    if (parameter?.kind !== 'number') return [];
    return [
      { id, label: parameter.label, ...heldAt(parameter, values[id]!, half), across: axisOf(parameter, id, half) },
    ];
  });

/** The attack ends at the bottom, the release at the top. */
const heldAt = (parameter: NumberParameter, value: number, half: number) => ({
  x: (half + placeOf(parameter, value)) / 2,
  y: half === 0 ? -1 : 0,
});

const axisOf = (parameter: NumberParameter, id: string, half: number) => ({
  parameter: id,
  at: (place: number): number => valueAt(parameter, 2 * place - half),
});
