import type { GainRamp } from './gain-ramp.ts';

/** Adds a sound at its gain to a sum. `weights`: how far it has faded in or out at each frame; null: in full. */
export const addScaled = (
  left: Float32Array,
  right: Float32Array,
  gain: GainRamp,
  weights: Float64Array | null,
  count: number,
  sumLeft: Float64Array,
  sumRight: Float64Array,
): void => {
  const { moves, block, value } = gain;
  for (let i = 0; i < count; i++) {
    const scale = (moves ? block[i]! : value) * (weights ? weights[i]! : 1);
    sumLeft[i]! += scale * left[i]!;
    sumRight[i]! += scale * right[i]!;
  }
};

/** The same for a live path: what it has taken over of the rendered one. */
export const addShared = (
  left: Float64Array,
  right: Float64Array,
  gain: GainRamp,
  share: GainRamp,
  weights: Float64Array | null,
  count: number,
  sumLeft: Float64Array,
  sumRight: Float64Array,
): void => {
  for (let i = 0; i < count; i++) {
    const taken = (share.moves ? share.block[i]! : share.value) * (weights ? weights[i]! : 1);
    const scale = (gain.moves ? gain.block[i]! : gain.value) * taken;
    sumLeft[i]! += scale * left[i]!;
    sumRight[i]! += scale * right[i]!;
  }
};
