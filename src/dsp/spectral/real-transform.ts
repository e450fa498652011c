import FFT from 'fft.js';

/**
 * Fourier transform of a real signal of a power-of-two length and back, by a complex transform of half the length
 * (Cooley, Lewis and Welch 1970). Spectra hold bins 0 .. size / 2, interleaved: real, imaginary, real, ..
 */
export class RealTransform {
  private readonly fft: FFT;
  /** exp(-2 pi i k / size) for k up to size / 4, interleaved. */
  private readonly turns: Float64Array;
  private readonly packed: Float64Array;
  private readonly half: Float64Array;

  /** @param size length of the signal, at least 8 */
  constructor(readonly size: number) {
    this.fft = new FFT(size / 2);
    this.turns = Float64Array.from({ length: size / 2 + 2 }, (_, n) => {
      const angle = (2 * Math.PI * (n >> 1)) / size;
      return n % 2 === 0 ? Math.cos(angle) : -Math.sin(angle);
    });
    this.packed = new Float64Array(size);
    this.half = new Float64Array(size);
  }

  /** Spectrum (size + 2 numbers, from `at` on) of a signal (size samples). Not scaled. */
  forward(signal: Float64Array, spectrum: Float64Array, at: number): void {
    const { fft, half, size, turns } = this;
    // Even samples are real parts, odd ones imaginary.
    fft.transform(half, signal);
    for (let k = 0; k <= size / 2; k += 2) {
      const mirror = (size - k) & (size - 1);
      const evenRe = (half[k]! + half[mirror]!) / 2;
      const evenIm = (half[k + 1]! - half[mirror + 1]!) / 2;
      const oddRe = (half[k + 1]! + half[mirror + 1]!) / 2;
      const oddIm = (half[mirror]! - half[k]!) / 2;
      const re = turns[k]! * oddRe - turns[k + 1]! * oddIm;
      const im = turns[k]! * oddIm + turns[k + 1]! * oddRe;
      spectrum[at + k] = evenRe + re;
      spectrum[at + k + 1] = evenIm + im;
      spectrum[at + size - k] = evenRe - re;
      spectrum[at + size - k + 1] = im - evenIm;
    }
  }

  /** The signal (size samples) whose `forward` is this spectrum (size + 2 numbers). */
  inverse(spectrum: Float64Array, signal: Float64Array): void {
    const { fft, half, packed, size, turns } = this;
    const scale = 1 / size;
    for (let k = 0; k <= size / 2; k += 2) {
      const mirror = size - k;
      const evenRe = scale * (spectrum[k]! + spectrum[mirror]!);
      const evenIm = scale * (spectrum[k + 1]! - spectrum[mirror + 1]!);
      const re = scale * (spectrum[k]! - spectrum[mirror]!);
      const im = scale * (spectrum[k + 1]! + spectrum[mirror + 1]!);
      const oddRe = turns[k]! * re + turns[k + 1]! * im;
      const oddIm = turns[k]! * im - turns[k + 1]! * re;
      // Conjugated, so that the forward transform of the complex signal is the inverse one.
      packed[k] = evenRe - oddIm;
      packed[k + 1] = -(evenIm + oddRe);
      if (k === 0) continue;
      packed[mirror] = evenRe + oddIm;
      packed[mirror + 1] = evenIm - oddRe;
    }
    fft.transform(half, packed);
    for (let n = 0; n < size; n += 2) {
      signal[n] = half[n]!;
      signal[n + 1] = -half[n + 1]!;
    }
  }
}
