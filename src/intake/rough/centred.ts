import type { Sound } from '../../audio/audio.ts';
import type { Samples } from '../../audio/samples.ts';
import { steadyOffset } from '../steady-offset.ts';

/** Samples less a constant, worked out as they are read. */
const lessened = (base: Samples, offset: number): Samples => ({
  length: base.length,
  subarray: (from, to) => {
    const out = base.subarray(from, to).slice();
    for (let n = 0; n < out.length; n++) out[n]! -= offset;
    return out;
  },
});

/**
 * A sound without its DC offset; the sound itself where it has none. An offset is told as one by the checks of the file: in the lowest
 * band it would pass for a tone that the rough has and the tracks have not, or the other way about.
 */
export const centred = ({ sampleRate, channels }: Sound): Sound => ({
  sampleRate,
  channels: channels.map((channel) => {
    const offset = steadyOffset(channel, sampleRate);
    return offset === 0 ? channel : lessened(channel, offset);
  }),
});
