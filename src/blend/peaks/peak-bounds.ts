import type { Sound } from '../../audio/audio.ts';
import { isSilent } from '../../audio/silence.ts';
import type { Samples } from '../../audio/samples.ts';
import { Kernels } from '../../measure/kernels/kernels.ts';

/** Frames in a block of which the extremes are kept, and blocks in a wide block (wide blocks are searched first). */
export const BLOCK = 32;
export const WIDE = 16;

/** Extremes of one channel of one path, block by block. */
interface ExtremesOf<Values> {
  /** Greatest and least sample of the block and of the first frame after it, so that what lies between is covered. */
  readonly highest: Values;
  readonly lowest: Values;
  /** Greatest size of a second difference centred in the block (in the first and last also beyond the sound). */
  readonly bend: Values;
}

/** The same as whole steps, rounded outwards, so that they bound the samples as well; the greatest is 32767 steps. */
export interface Extremes extends ExtremesOf<Int16Array> {
  /** Size of a step of highest and lowest, and of bend. */
  readonly step: number;
  readonly bendStep: number;
}

/** Data of one path from which peaks of any blend are bounded. Left, right. */
export interface PeakBounds {
  readonly narrow: readonly [Extremes, Extremes];
  readonly wide: readonly [Extremes, Extremes];
  /** Sum of samples. */
  readonly sums: readonly [number, number];
}

const extremesFor = (blocks: number): ExtremesOf<Float32Array> => ({
  highest: new Float32Array(blocks),
  lowest: new Float32Array(blocks),
  bend: new Float32Array(blocks),
});

const MOST_STEPS = 32_767;

const stepOf = (...values: readonly Float32Array[]): number => {
  let most = 0;
  for (const each of values) for (const value of each) most = Math.max(most, Math.abs(value));
  return most > 0 ? most / MOST_STEPS : 1;
};

/** Takes half the memory of single precision; bounds are looser by at most the path's peak less 90 dB. */
const inSteps = ({ highest, lowest, bend }: ExtremesOf<Float32Array>): Extremes => {
  const step = stepOf(highest, lowest);
  const bendStep = stepOf(bend);
  const blocks = highest.length;
  const steps = { highest: new Int16Array(blocks), lowest: new Int16Array(blocks), bend: new Int16Array(blocks) };
  // A loop: Int16Array.from with a function takes many times as long.
  for (let block = 0; block < blocks; block++) {
    steps.highest[block] = Math.min(MOST_STEPS, Math.ceil(highest[block]! / step));
    steps.lowest[block] = Math.max(-MOST_STEPS, Math.floor(lowest[block]! / step));
    steps.bend[block] = Math.min(MOST_STEPS, Math.ceil(bend[block]! / bendStep));
  }
  return { step, bendStep, ...steps };
};

/** Blocks processed in one pass. */
const TOGETHER = 128;

/** Working memory for some blocks of samples and their extremes, in the memory of the kernels where there are any. */
export class ExtremesWork {
  /** Samples of the blocks from FIRST on, one before them and one after. */
  private readonly samples: Float32Array;
  private readonly out: ExtremesOf<Float32Array>;
  /** Sums of every second sample. */
  private readonly total: Float64Array;

  constructor(
    private readonly kernels: Kernels | null = Kernels.withRoom(4 * TOGETHER * (BLOCK + 3) + 1024),
    private readonly together = TOGETHER,
  ) {
    this.samples = Kernels.singles(kernels, FIRST + together * BLOCK + 4);
    const numbers = (): Float32Array => Kernels.singles(kernels, together);
    this.out = { highest: numbers(), lowest: numbers(), bend: numbers() };
    this.total = Kernels.doubles(kernels, 2);
  }

  /** Extremes of a channel block by block, and the sum of its samples. */
  of(channel: Samples): { readonly narrow: ExtremesOf<Float32Array>; readonly sum: number } {
    const { samples, total, together } = this;
    const blocks = Math.ceil(channel.length / BLOCK);
    const narrow = extremesFor(blocks);
    total.fill(0);
    for (let block = 0; block < blocks; block += together) {
      const count = Math.min(together, blocks - block);
      const from = block * BLOCK - 1;
      const end = Math.min(channel.length, from + count * BLOCK + 2);
      const piece = channel.subarray(Math.max(0, from), end);
      // The extremes of silence are 0, as they stand.
      if (isSilent(piece)) continue;
      samples.fill(0);
      samples.set(piece, FIRST - 1 - Math.min(0, from));
      this.take(count);
      narrow.highest.set(this.out.highest.subarray(0, count), block);
      narrow.lowest.set(this.out.lowest.subarray(0, count), block);
      narrow.bend.set(this.out.bend.subarray(0, count), block);
    }
    // The differences centred in the silence before and after the sound.
    const { bend } = narrow;
    if (blocks > 0) {
      bend[0] = Math.max(bend[0]!, Math.abs(channel.subarray(0, 1)[0]!));
      bend[blocks - 1] = Math.max(
        bend[blocks - 1]!,
        Math.abs(channel.subarray(channel.length - 1, channel.length)[0]!),
      );
    }
    return { narrow, sum: total[0]! + total[1]! };
  }

  private take(blocks: number): void {
    const { kernels, samples, out, total } = this;
    const { highest, lowest, bend } = out;
    if (kernels)
      kernels.run.extremes(
        samples.byteOffset + 4 * FIRST,
        blocks,
        highest.byteOffset,
        lowest.byteOffset,
        bend.byteOffset,
        total.byteOffset,
      );
    else for (let block = 0; block < blocks; block++) plainExtremes(samples, block, out, total);
  }
}

/** Index of the first block's first sample, aligned for SIMD. */
const FIRST = 4;

/** Twin of extremes of kernels.as. */
const plainExtremes = (
  samples: Float32Array,
  block: number,
  out: ExtremesOf<Float32Array>,
  total: Float64Array,
): void => {
  const from = FIRST + block * BLOCK;
  let highest = samples[from]!;
  let lowest = highest;
  let most = 0;
  let least = 0;
  let [even, odd] = [total[0]!, total[1]!];
  for (let n = from; n < from + BLOCK; n++) {
    const here = samples[n]!;
    const after = samples[n + 1]!;
    const difference = samples[n - 1]! - 2 * here + after;
    most = difference > most ? difference : most;
    least = difference < least ? difference : least;
    highest = after > highest ? after : highest;
    lowest = after < lowest ? after : lowest;
    if (n % 2 === 0) even += here;
    else odd += here;
  }
  total.set([even, odd]);
  out.highest[block] = highest;
  out.lowest[block] = lowest;
  out.bend[block] = Math.max(most, -least);
};

const widened = ({ highest, lowest, bend, ...steps }: Extremes): Extremes => {
  const values = (): Int16Array => new Int16Array(Math.ceil(highest.length / WIDE));
  const out = { ...steps, highest: values(), lowest: values(), bend: values() };
  for (let block = 0; block < highest.length; block++) {
    const wide = Math.floor(block / WIDE);
    const first = block % WIDE === 0;
    out.highest[wide] = first ? highest[block]! : Math.max(out.highest[wide]!, highest[block]!);
    out.lowest[wide] = first ? lowest[block]! : Math.min(out.lowest[wide]!, lowest[block]!);
    out.bend[wide] = Math.max(out.bend[wide]!, bend[block]!);
  }
  return out;
};

/** Bounds of a stereo path: a twentieth of its own memory. */
export const peakBoundsOf = (path: Sound): PeakBounds => {
  const work = new ExtremesWork();
  const [left, right] = path.channels as [Samples, Samples];
  const bounds = [left, right].map((channel) => {
    const { narrow, sum } = work.of(channel);
    return { narrow: inSteps(narrow), sum };
  });
  const [first, second] = bounds as [(typeof bounds)[0], (typeof bounds)[0]];
  return {
    narrow: [first.narrow, second.narrow],
    wide: [widened(first.narrow), widened(second.narrow)],
    sums: [first.sum, second.sum],
  };
};

/** The same, computed when it is first read (which takes another pass through the sound), for a path whose peaks may not be needed. */
export const laterPeakBoundsOf = (path: Sound): PeakBounds => {
  const work = new ExtremesWork();
  const [left, right] = path.channels as [Samples, Samples];
  let known: PeakBounds | null = null;
  const asked = (): PeakBounds => (known ??= peakBoundsOf(path));
  return {
    sums: [work.of(left).sum, work.of(right).sum],
    get narrow() {
      return asked().narrow;
    },
    get wide() {
      return asked().wide;
    },
  };
};
