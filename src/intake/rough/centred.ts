import type { Sound } from '../../audio/audio.ts';
import type { Samples } from '../../audio/samples.ts';
import { steadyOffset } from '../steady-offset.ts';

/** Samples less a constant, worked out as they are read. */
class CentredSamples implements Samples {
  constructor(
    private readonly base: Samples,
    private readonly offset: number,
  ) {}

  get length(): number {
    return this.base.length;
  }

  subarray(from: number, to: number): Float32Array {
    return this.base.subarray(from, to).map((value) => value - this.offset);
  }
}

/**
 * A sound without its DC offset; the sound itself where it has none. An offset is told as one by the checks of the file: in the lowest
 * band it would pass for a tone that the rough has and the tracks have not, or the other way about.
 */
export const centred = ({ sampleRate, channels }: Sound): Sound => ({
  sampleRate,
  channels: channels.map((channel) => {
    const offset = steadyOffset(channel, sampleRate);
    return offset === 0 ? channel : new CentredSamples(channel, offset);
  }),
});
