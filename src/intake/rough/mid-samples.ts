import type { Sound } from '../../audio/audio.ts';
import type { Samples } from '../../audio/samples.ts';

/** Half the sum of two channels, worked out as it is read. */
class MidSamples implements Samples {
  constructor(
    private readonly left: Samples,
    private readonly right: Samples,
  ) {}

  get length(): number {
    return this.left.length;
  }

  subarray(from: number, to: number): Float32Array {
    const [left, right] = [this.left.subarray(from, to), this.right.subarray(from, to)];
    return left.map((value, n) => (value + right[n]!) / 2);
  }
}

/** A sound of one or two channels as one. */
export const midOf = ({ channels: [left, right] }: Sound): Samples => (right ? new MidSamples(left!, right) : left!);
