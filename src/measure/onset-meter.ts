import FFT from 'fft.js';
import { isSilent } from '../audio/silence.ts';
import { binStretches, type BinStretch } from './third-octaves.ts';

/**
 * Onsets against sustained sound: spectral flux of third-octave powers. Frames of 20 ms (the nearest power of two)
 * under a Hann window, half overlapping, channels summed by power. From one frame to the next, the rise of a band’s
 * power is onset; what both frames have in common is sustained. (Spectral flux as an onset function: Bello et al., IEEE
 * Trans. Speech and Audio Processing 13(5), 2005; sums over bands and the ratio are defined here.)
 */
export interface Onsets {
  /** Sum of the rises of the band amplitudes over the sum of all band amplitudes, 0 (steady) to 1. */
  readonly strength: number;
  /** Sum of the rises of the band powers, and of what successive frames have in common. */
  readonly onset: number;
  readonly sustained: number;
}

/** Onsets of sound that comes piece by piece. */
export class OnsetMeter {
  private readonly size: number;
  private readonly fft: FFT;
  private readonly window: Float64Array;
  private readonly stretches: readonly BinStretch[];
  private readonly buffers: readonly Float32Array[];
  private readonly data: Float64Array;
  private readonly out: Float64Array;
  private readonly powers: Float64Array;
  private before: Float64Array;
  private now: Float64Array;
  private filled = 0;
  private rises = 0;
  private amplitudes = 0;
  private onset = 0;
  private sustained = 0;

  constructor(sampleRate: number, channels: number) {
    const size = 2 ** Math.max(4, Math.round(Math.log2(sampleRate / 50)));
    this.size = size;
    this.fft = new FFT(size);
    this.window = Float64Array.from({ length: size }, (_, n) => 0.5 - 0.5 * Math.cos((2 * Math.PI * n) / size));
    const bands = binStretches(size / 2, sampleRate);
    this.stretches = bands.filter(({ band }) => band < Math.max(...bands.map((each) => each.band)));
    this.buffers = Array.from({ length: channels + (channels % 2) }, () => new Float32Array(size));
    this.data = new Float64Array(2 * size);
    this.out = new Float64Array(2 * size);
    this.powers = new Float64Array(size / 2 + 1);
    const count = Math.max(0, ...this.stretches.map(({ band }) => band + 1));
    this.before = new Float64Array(count);
    this.now = new Float64Array(count);
  }

  /** Adds `count` frames of `channels` (channels x frames) from frame `from` on. */
  push(channels: readonly Float32Array[], from: number, count: number): void {
    for (let at = from; at < from + count;) {
      const length = Math.min(this.size - this.filled, from + count - at);
      channels.forEach((samples, c) => this.buffers[c]!.set(samples.subarray(at, at + length), this.filled));
      at += length;
      this.filled += length;
      if (this.filled < this.size) continue;
      this.addFrame();
      this.filled = this.size / 2;
      for (const buffer of this.buffers) buffer.copyWithin(0, this.filled);
    }
  }

  /** Onsets so far; an incomplete last frame is left out. */
  onsets(): Onsets {
    const { rises, amplitudes, onset, sustained } = this;
    return { strength: amplitudes > 0 ? rises / amplitudes : 0, onset, sustained };
  }

  private addFrame(): void {
    this.toBands();
    const { before, now } = this;
    for (let band = 0; band < now.length; band++) {
      const [earlier, later] = [before[band]!, now[band]!];
      this.amplitudes += Math.sqrt(later);
      this.rises += Math.max(0, Math.sqrt(later) - Math.sqrt(earlier));
      this.onset += Math.max(0, later - earlier);
      this.sustained += Math.min(earlier, later);
    }
    this.before = now;
    this.now = before;
  }

  /** Band powers of the gathered frame. Two channels go through one transform: both signs of frequency hold their sum. */
  private toBands(): void {
    const { size, data, out, window, powers, now, buffers } = this;
    now.fill(0);
    if (buffers.every((buffer) => isSilent(buffer))) return;
    powers.fill(0);
    for (let c = 0; c < buffers.length; c += 2) {
      const [left, right] = [buffers[c]!, buffers[c + 1]!];
      for (let n = 0; n < size; n++) {
        data[2 * n] = window[n]! * left[n]!;
        data[2 * n + 1] = window[n]! * right[n]!;
      }
      this.fft.transform(out, data);
      for (let bin = 1; bin < size / 2; bin++) {
        const [re, im] = [out[2 * bin]!, out[2 * bin + 1]!];
        const [mirrorRe, mirrorIm] = [out[2 * (size - bin)]!, out[2 * (size - bin) + 1]!];
        powers[bin] = powers[bin]! + re * re + im * im + mirrorRe * mirrorRe + mirrorIm * mirrorIm;
      }
    }
    for (const { band, from, to, weight } of this.stretches) {
      let sum = 0;
      for (let bin = from; bin < to; bin++) sum += powers[bin]!;
      now[band] = now[band]! + weight * sum;
    }
  }
}
