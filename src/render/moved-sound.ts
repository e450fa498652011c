import type { Sound } from '../audio/audio.ts';
import type { Samples } from '../audio/samples.ts';
import { fillMovingLevel, type MovingLevel } from '../dsp/core/moving-gains.ts';

/** Samples of one channel under a level that moves, worked out as they are read; frame 0 is that of the song. */
class MovedSamples implements Samples {
  readonly length: number;

  constructor(
    private readonly base: Samples,
    private readonly moving: MovingLevel,
    private readonly sampleRate: number,
  ) {
    this.length = base.length;
  }

  subarray(from: number, to: number): Float32Array {
    const open = new Float64Array(to - from);
    fillMovingLevel(this.moving, this.sampleRate, from, to - from, open);
    return this.base.subarray(from, to).map((x, n) => x * open[n]!);
  }
}

/** A sound that begins with the song, under a level that moves: as a part of its reference. */
export const movedSound = ({ sampleRate, channels }: Sound, moving: MovingLevel): Sound => ({
  sampleRate,
  channels: channels.map((channel) => new MovedSamples(channel, moving, sampleRate)),
});
