declare module 'fft.js' {
  /** Complex Fourier transform of a power-of-two length; data are interleaved: real, imaginary, real, .. */
  export default class FFT {
    constructor(size: number);
    readonly size: number;
    /** `out` and `data` hold 2 x size numbers and must not be the same array. Forward, not scaled. */
    transform(out: Float64Array, data: Float64Array): void;
  }
}
