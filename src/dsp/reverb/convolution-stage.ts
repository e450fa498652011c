import { CONTROL_FRAMES } from '../core/processor.ts';
import { RealTransform } from '../spectral/real-transform.ts';

/** sum += a b, for complex numbers. */
const multiplyAdd = (
  sum: Float64Array,
  a: Float64Array,
  aFrom: number,
  b: Float64Array,
  bFrom: number,
  length: number,
): void => {
  for (let k = 0; k < length; k += 2) {
    const aRe = a[aFrom + k]!;
    const aIm = a[aFrom + k + 1]!;
    const bRe = b[bFrom + k]!;
    const bIm = b[bFrom + k + 1]!;
    sum[k]! += aRe * bRe - aIm * bIm;
    sum[k + 1]! += aRe * bIm + aIm * bRe;
  }
};

/**
 * A part of an impulse response, in partitions of one size, starting at the sample of that number: the output of an input block
 * begins when the block is complete, so that the stage adds no delay of its own. Overlap-save (Stockham 1966)
 * with the spectra of earlier blocks kept (Kulp 1988); these are multiplied a share at a time while the next block comes in, so that
 * no control block has to do it all.
 */
export class ConvolutionStage {
  private readonly transform: RealTransform;
  /** Numbers in a spectrum. */
  private readonly length: number;
  private readonly partitions: number;
  private readonly filters: Float64Array;
  /** Spectra of the last input blocks; `newest` is the place of the last one. */
  private readonly spectra: Float64Array;
  private readonly sum: Float64Array;
  /** The last input block and the one that comes in. */
  private readonly input: Float64Array;
  /** Its second half is the output during the current block. */
  private readonly output: Float64Array;
  private newest = 0;
  /** Frames of the block that have come in, a multiple of CONTROL_FRAMES. */
  private filled = 0;
  /** Partitions multiplied for the next output. */
  private done = 1;

  /**
   * @param taps the response from sample `size` on
   * @param size samples in a partition: a power of two, CONTROL_FRAMES or more
   */
  constructor(
    taps: Float64Array,
    private readonly size: number,
  ) {
    const transform = new RealTransform(2 * size);
    const length = 2 * size + 2;
    const partitions = Math.ceil(taps.length / size);
    this.transform = transform;
    this.length = length;
    this.partitions = partitions;
    this.filters = new Float64Array(partitions * length);
    this.spectra = new Float64Array(partitions * length);
    this.sum = new Float64Array(length);
    this.input = new Float64Array(2 * size);
    this.output = new Float64Array(2 * size);
    for (let p = 0; p < partitions; p++) {
      const part = new Float64Array(2 * size);
      part.set(taps.subarray(p * size, (p + 1) * size));
      transform.forward(part, this.filters, p * length);
    }
  }

  /** Adds `count` frames to the target; `position` frames of the control block are already done. */
  add(target: Float64Array, count: number, position: number): void {
    const { output } = this;
    const from = this.size + this.filled + position;
    for (let i = 0; i < count; i++) target[i]! += output[from + i]!;
  }

  /** Takes in the control block that has come in: CONTROL_FRAMES of `samples` from `from` on. */
  take(samples: Float64Array, from: number): void {
    const { input, size } = this;
    const at = size + this.filled;
    for (let i = 0; i < CONTROL_FRAMES; i++) input[at + i] = samples[from + i]!;
    this.filled += CONTROL_FRAMES;
    this.multiply(1 + Math.ceil(((this.partitions - 1) * this.filled) / size));
    if (this.filled < size) return;
    this.complete();
    this.filled = 0;
  }

  clear(): void {
    this.spectra.fill(0);
    this.sum.fill(0);
    this.input.fill(0);
    this.output.fill(0);
    this.newest = 0;
    this.filled = 0;
    this.done = 1;
  }

  /** Multiplies blocks of before the one that comes in, up to but without partition `end`. */
  private multiply(end: number): void {
    const { filters, length, newest, partitions, spectra, sum } = this;
    for (; this.done < end; this.done++) {
      const block = (newest - this.done + 1 + partitions) % partitions;
      multiplyAdd(sum, spectra, block * length, filters, this.done * length, length);
    }
  }

  /** The block is complete: its own part joins those of the earlier ones. */
  private complete(): void {
    const { filters, input, length, output, partitions, size, spectra, sum, transform } = this;
    this.newest = (this.newest + 1) % partitions;
    transform.forward(input, spectra, this.newest * length);
    multiplyAdd(sum, spectra, this.newest * length, filters, 0, length);
    transform.inverse(sum, output);
    sum.fill(0);
    this.done = 1;
    input.copyWithin(0, size);
  }
}
