import FFT from 'fft.js';

/** Powers of a sound in bands over time. */
export interface BandCourse {
  /** Seconds from a frame to the next. */
  readonly hopSeconds: number;
  readonly frames: number;
  /** Bands, low to high. */
  readonly bands: number;
  /** Frames x bands. */
  readonly powers: Float32Array;
}

/** Frames of about 23 ms every 10 ms: onsets are told to a hundredth of a second. */
const [FRAME_SECONDS, HOP_SECONDS] = [0.0232, 0.01];
/** Half octaves from this frequency on, Hz. */
const [LOWEST, PER_OCTAVE, BANDS] = [40, 2, 17];

/** @param song one channel */
export const bandCourseOf = (song: Float32Array, sampleRate: number): BandCourse => {
  const size = 2 ** Math.round(Math.log2(FRAME_SECONDS * sampleRate));
  const hop = Math.round(HOP_SECONDS * sampleRate);
  const frames = Math.max(0, Math.ceil(song.length / hop));
  const window = Float64Array.from({ length: size }, (_, n) => 0.5 - 0.5 * Math.cos((2 * Math.PI * n) / size));
  const fft = new FFT(size);
  const data = new Float64Array(2 * size);
  const out = new Float64Array(2 * size);
  const bandOf = Int8Array.from({ length: size / 2 }, (_, bin) => {
    const hz = (bin * sampleRate) / size;
    return hz < LOWEST ? -1 : Math.min(BANDS - 1, Math.floor(PER_OCTAVE * Math.log2(hz / LOWEST)));
  });
  const powers = new Float32Array(frames * BANDS);
  // Two frames go through one complex transform.
  for (let frame = 0; frame < frames; frame += 2) {
    for (let n = 0; n < size; n++) {
      const at = frame * hop + n - size / 2;
      data[2 * n] = window[n]! * (song[at] ?? 0);
      data[2 * n + 1] = window[n]! * (song[at + hop] ?? 0);
    }
    fft.transform(out, data);
    for (let bin = 1; bin < size / 2; bin++) {
      const band = bandOf[bin]!;
      if (band < 0) continue;
      const [re, im, mre, mim] = [out[2 * bin]!, out[2 * bin + 1]!, out[2 * (size - bin)]!, out[2 * (size - bin) + 1]!];
      powers[frame * BANDS + band]! += ((re + mre) ** 2 + (im - mim) ** 2) / 4;
      if (frame + 1 < frames) powers[(frame + 1) * BANDS + band]! += ((im + mim) ** 2 + (mre - re) ** 2) / 4;
    }
  }
  return { hopSeconds: hop / sampleRate, frames, bands: BANDS, powers };
};
