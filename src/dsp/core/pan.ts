import { type GainMatrix, straight } from './gain-matrix.ts';

/**
 * Gains that place a source between the speakers; `pan` -1 left .. +1 right, 0 is exactly a wire.
 * Mono: equal power, levelled so that the middle is 0 dB and hard to one side is +3.01 dB.
 * Stereo: the far channel is folded towards the near side by an equal-power law, so that nothing is lost
 * (the stereo law of the Web Audio API specification).
 */
export const panMatrix = (pan: number, channels: number, gain: number): GainMatrix => {
  if (pan === 0) return straight(gain);
  if (channels === 1) {
    const angle = ((pan + 1) * Math.PI) / 4;
    return {
      leftToLeft: gain * Math.SQRT2 * Math.cos(angle),
      leftToRight: 0,
      rightToLeft: 0,
      rightToRight: gain * Math.SQRT2 * Math.sin(angle),
    };
  }
  const angle = ((pan < 0 ? pan + 1 : pan) * Math.PI) / 2;
  return pan < 0
    ? { leftToLeft: gain, leftToRight: 0, rightToLeft: gain * Math.cos(angle), rightToRight: gain * Math.sin(angle) }
    : { leftToLeft: gain * Math.cos(angle), leftToRight: gain * Math.sin(angle), rightToLeft: 0, rightToRight: gain };
};
