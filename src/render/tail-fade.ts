import { framesOf, type Audio } from '../audio/audio.ts';

/** Time over which a tail that is longer than is kept fades out at the end, seconds. */
const FADE_SECONDS = 1;

/** A copy of `audio` whose end fades out: what is cut off there still sounded. The same fade for all stems of a mix. */
export const fadedOut = (audio: Audio): Audio => {
  const end = framesOf(audio);
  const length = Math.min(end, Math.round(FADE_SECONDS * audio.sampleRate));
  return {
    sampleRate: audio.sampleRate,
    channels: audio.channels.map((channel) => {
      const faded = Float32Array.from(channel);
      for (let n = 0; n < length; n++) {
        faded[end - 1 - n]! *= 0.5 - 0.5 * Math.cos((Math.PI * n) / length);
      }
      return faded;
    }),
  };
};
