import { framesOf, type Audio } from '../../audio/audio.ts';
import { midSideTransformer } from '../../measure/stereo/mid-side-transform.ts';

/** Frames of about two thirds of a second: lines of mains hum stand apart from notes beside them. */
const FRAME_SECONDS = 0.68;
/** Frames that are looked at, spread over the file. */
const MOST_FRAMES = 240;

/** Power spectra of frames spread over a file, all channels together. */
export interface Spectra {
  readonly hzPerBin: number;
  /** Frames x bins. */
  readonly frames: readonly Float32Array[];
}

export const spectraOf = (audio: Audio): Spectra => {
  const size = 2 ** Math.round(Math.log2(FRAME_SECONDS * audio.sampleRate));
  const transform = midSideTransformer(size);
  const [left, right] = [audio.channels[0]!, audio.channels[1] ?? audio.channels[0]!];
  const [mid, side] = [new Float32Array(size + 2), new Float32Array(size + 2)];
  const count = Math.max(1, Math.min(MOST_FRAMES, Math.floor((2 * framesOf(audio)) / size) - 1));
  const frames = Array.from({ length: count }, (_, n) => {
    const last = Math.max(0, framesOf(audio) - size);
    transform(left, right, Math.round(count === 1 ? 0 : (n * last) / (count - 1)));
    transform.separate(mid, side);
    const powers = new Float32Array(size / 2 + 1);
    for (let k = 0; k < powers.length; k++) {
      powers[k] = (mid[2 * k]! ** 2 + mid[2 * k + 1]! ** 2 + side[2 * k]! ** 2 + side[2 * k + 1]! ** 2) / size ** 2;
    }
    return powers;
  });
  return { hzPerBin: audio.sampleRate / size, frames };
};
