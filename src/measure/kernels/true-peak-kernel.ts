import { BLOCK, type FoundPeak, HALF_SAMPLE, SHARES } from '../peaks/true-peak-search.ts';
import { BOUND, CURVE, HALFWAY, KERNEL, LEVEL, REACH } from '../peaks/interpolation.ts';
import { Kernels } from './kernels.ts';

/** Most frames per call. */
const PIECE = 2 ** 16;

/** Frames around a range that influence its interpolated values or the bounds of its blocks. */
const MARGIN = BLOCK + REACH + 4;

/** As plainTruePeakIn of true-peak-search.ts. */
type TruePeakSearch = (samples: Float32Array, floor: number, from: number, to: number) => FoundPeak | null;

let search: TruePeakSearch | null | undefined;

/** The search with SIMD; null without. */
export function truePeakKernel(): TruePeakSearch | null {
  return (search ??= search === null ? null : newSearch());
}

function newSearch(): TruePeakSearch | null {
  const window = PIECE + 2 * MARGIN;
  const kernels = Kernels.withRoom(4 * window + 8 * (KERNEL.length + PIECE / BLOCK) + 2 ** 14);
  if (!kernels) return null;
  const { run } = kernels;
  const samples = kernels.singles(window);
  const table = kernels.doubles(KERNEL.length);
  const shares = kernels.doubles(SHARES.length);
  const taps = kernels.singles(REACH);
  const buffer = kernels.singles(BLOCK + 2 * (REACH + 4) + 32);
  const halfway = kernels.singles(BLOCK + 32);
  const peaks = kernels.doubles(PIECE / BLOCK + 4);
  table.set(KERNEL);
  shares.set(SHARES);
  taps.set(HALFWAY);
  const addresses = [table, shares, taps, buffer, halfway].map(({ byteOffset }) => byteOffset);
  const [a = 0, b = 0, c = 0, d = 0, e = 0] = addresses;
  run.truePeakSetUp(REACH, a, b, c, d, e, BOUND, LEVEL, CURVE, HALF_SAMPLE);

  return (sound, floor, from, to) => {
    let found: FoundPeak | null = null;
    for (let start = from; start < to; start += PIECE) {
      const end = Math.min(to, start + PIECE);
      const first = Math.max(0, start - MARGIN);
      const last = Math.min(sound.length, end + MARGIN);
      samples.set(sound.subarray(first, last));
      const least = found?.value ?? floor;
      const value = run.truePeakIn(
        samples.byteOffset,
        last - first,
        start - first,
        end - first,
        least,
        peaks.byteOffset,
      );
      if (value > least) found = { value, frame: first + run.truePeakFrame() };
    }
    return found;
  };
}
