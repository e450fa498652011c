import { SIDES, type Model, type RoughProblem } from './model.ts';
import { blockOf, frameLength } from './sketch-plan.ts';

/** Energy of each track in the rough, both sides together, in each band of each block (blocks x bands); nothing as long as the song is made. */
export const trackEnergies = (
  { plan, sources, tracks }: RoughProblem,
  { gains, levels }: Pick<Model, 'gains' | 'levels'>,
): Float64Array[] => {
  const { bands, bandStart, bandWeight, frames, blocks } = plan;
  const length = frameLength(plan);
  return Array.from({ length: tracks }, (_, track) => {
    const out = new Float64Array(blocks * bands.length);
    for (const side of SIDES) {
      const own = sources.all.flatMap((source, i) =>
        source.track === track && gains[side][i] !== 0 ? [{ channel: source.channel, gain: gains[side][i]! }] : [],
      );
      const [one, other] = own;
      if (!one) continue;
      for (let frame = 0; frame < frames; frame++) {
        const block = blockOf(plan, frame);
        const power = levels[block * tracks + track]! ** 2;
        for (let b = 0; b < bands.length; b++) {
          let sum = 0;
          const end = frame * length + 2 * bandStart[b + 1]!;
          for (let e = frame * length + 2 * bandStart[b]!; e < end; e++) {
            const value = one.gain * one.channel[e]! + (other ? other.gain * other.channel[e]! : 0);
            sum += value * value;
          }
          out[block * bands.length + b]! += bandWeight[b]! * power * sum;
        }
      }
    }
    return out;
  });
};
