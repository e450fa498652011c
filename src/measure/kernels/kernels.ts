import { KERNELS } from './kernels-binary.ts';

/** Exports of kernels.as. Addresses are bytes in the memory, a multiple of 16. */
interface KernelFunctions {
  readonly addSums: (left: number, right: number, count: number, sums: number) => void;
  readonly addWeighted: (left: number, right: number, count: number, state: number) => void;
  readonly transform: (
    left: number,
    right: number,
    size: number,
    gains: number,
    slope: number,
    turns: number,
    a: number,
    b: number,
  ) => number;
  readonly separate: (spectrum: number, size: number, mid: number, side: number) => void;
  readonly truePeakSetUp: (
    reach: number,
    kernels: number,
    shares: number,
    taps: number,
    buffer: number,
    halfway: number,
    bound: number,
    level: number,
    curve: number,
    halfSample: number,
  ) => void;
  readonly truePeakIn: (
    samples: number,
    length: number,
    from: number,
    to: number,
    floor: number,
    peaks: number,
  ) => number;
  readonly truePeakFrame: () => number;
  readonly addSingles: AddProducts;
  readonly addDoubles: AddProducts;
  readonly weigh: (left: number, right: number, count: number, filter: number, into: number, apart: number) => void;
  readonly weighBackwards: (mid: number, apart: number, count: number, filter: number) => void;
  readonly crossProducts: (
    own: number,
    apart: number,
    left: number,
    right: number,
    count: number,
    sums: number,
  ) => void;
  readonly rowSums: (values: number, rows: number, count: number, weights: number, sums: number) => void;
  readonly extremes: (
    samples: number,
    blocks: number,
    highest: number,
    lowest: number,
    bends: number,
    total: number,
  ) => void;
}

type AddProducts = (
  row: number,
  column: number,
  apart: number,
  passes: number,
  count: number,
  weight: number,
  sums: number,
) => void;

const PAGE = 65_536;

/** WebAssembly kernels with their own memory, allocated array by array. */
export class Kernels {
  private constructor(
    readonly run: KernelFunctions,
    private readonly memory: WebAssembly.Memory,
    private used: number,
  ) {}

  /**
   * Kernels with `bytes` of memory, rounding of every array included; null where the JavaScript engine has no WebAssembly SIMD, or not that
   * much contiguous memory.
   */
  static withRoom(bytes: number): Kernels | null {
    const compiled = kernelModule();
    if (!compiled) return null;
    const pages = Math.ceil((bytes + GROUND) / PAGE) + 1;
    const memory = memoryOf(pages);
    if (!memory) return null;
    const { exports } = new WebAssembly.Instance(compiled, { env: { memory, abort } });
    return new Kernels(exports as unknown as KernelFunctions, memory, GROUND);
  }

  /** Room for `count` numbers of double precision; the array has its address as `byteOffset`. */
  doubles(count: number): Float64Array {
    return new Float64Array(this.memory.buffer, this.take(8 * count), count);
  }

  /** Room for `count` numbers of single precision. */
  singles(count: number): Float32Array {
    return new Float32Array(this.memory.buffer, this.take(4 * count), count);
  }

  /** Numbers of either precision in these kernels' memory, or in a plain array where there are no kernels. */
  static doubles(kernels: Kernels | null, count: number): Float64Array {
    return kernels?.doubles(count) ?? new Float64Array(count);
  }

  static singles(kernels: Kernels | null, count: number): Float32Array {
    return kernels?.singles(count) ?? new Float32Array(count);
  }

  private take(bytes: number): number {
    const at = this.used;
    this.used += 64 * Math.ceil(bytes / 64);
    return at;
  }
}

function memoryOf(pages: number): WebAssembly.Memory | null {
  try {
    return new WebAssembly.Memory({ initial: pages, maximum: pages });
  } catch {
    return null;
  }
}

/** The memory below is the module's own. */
const GROUND = 1024;

const abort = (): never => {
  throw new RangeError('a measuring kernel failed');
};

let compiled: WebAssembly.Module | null | undefined;

/** The module, compiled once; null where that fails: the meters then run in TypeScript. */
function kernelModule(): WebAssembly.Module | null {
  if (compiled === undefined) {
    try {
      compiled = new WebAssembly.Module(Uint8Array.from(atob(KERNELS), (c) => c.charCodeAt(0)));
    } catch {
      compiled = null;
    }
  }
  return compiled;
}
