import type { Sound } from '../../audio/audio.ts';
import type { Samples } from '../../audio/samples.ts';

/** Half the sum of two channels, worked out as it is read. */
const halfSum = (one: Samples, other: Samples): Samples => ({
  length: one.length,
  subarray: (from, to) => {
    const out = one.subarray(from, to).slice();
    const added = other.subarray(from, to);
    for (let n = 0; n < out.length; n++) out[n] = (out[n]! + added[n]!) / 2;
    return out;
  },
});

/** A sound of one or two channels as one. */
export const midOf = ({ channels: [left, right] }: Sound): Samples => (right ? halfSum(left!, right) : left!);
