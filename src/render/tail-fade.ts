import { framesOf, type Audio, type Sound } from '../audio/audio.ts';
import type { Samples } from '../audio/samples.ts';

/** Time over which a tail that is longer than is kept fades out at the end, seconds. */
const FADE_SECONDS = 1;

/** Samples whose last `fade` fade out. */
class FadedSamples implements Samples {
  readonly length: number;

  constructor(
    private readonly base: Samples,
    private readonly fade: number,
  ) {
    this.length = base.length;
  }

  subarray(from: number, to: number): Float32Array {
    const { base, fade, length } = this;
    const first = Math.max(from, length - fade);
    if (first >= to) return base.subarray(from, to);
    const faded = base.subarray(from, to).slice();
    for (let n = first; n < to; n++) {
      faded[n - from]! *= 0.5 - 0.5 * Math.cos((Math.PI * (length - 1 - n)) / fade);
    }
    return faded;
  }
}

/** A sound whose end fades out: what is cut off there still sounded. The same fade for all stems of a mix. */
export function fadedOut(sound: Audio): Audio;
export function fadedOut(sound: Sound): Sound;
export function fadedOut(sound: Sound): Sound {
  const fade = Math.min(framesOf(sound), Math.round(FADE_SECONDS * sound.sampleRate));
  const channels = sound.channels.map((channel) => {
    const faded = new FadedSamples(channel, fade);
    return channel instanceof Float32Array ? faded.subarray(0, channel.length) : faded;
  });
  return { sampleRate: sound.sampleRate, channels };
}
