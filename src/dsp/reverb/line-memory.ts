import { CONTROL_FRAMES } from '../core/processor.ts';
import { Ring, ringLength } from '../core/ring.ts';

/** Blocks beyond the rings, for what does not lie in one piece in them. */
const PIECES = 8;

/** Rings that lie in one array, so that a loop can read many places of many rings at once: it keeps one address and not many. */
export class LineMemory {
  readonly samples: Float64Array;
  readonly rings: readonly Ring[];
  /** Where in `samples` each ring begins. */
  private readonly begins: readonly number[];
  private readonly pieces: readonly Float64Array[];
  /** Where the first piece begins. */
  private readonly ringsEnd: number;

  /** @param capacities of each ring, samples */
  constructor(capacities: readonly number[]) {
    const ends = capacities.reduce<readonly number[]>(
      (all, capacity) => [...all, all.at(-1)! + ringLength(capacity)],
      [0],
    );
    this.ringsEnd = ends.at(-1)!;
    const samples = new Float64Array(this.ringsEnd + PIECES * CONTROL_FRAMES);
    this.samples = samples;
    this.begins = ends.slice(0, -1);
    this.rings = capacities.map((capacity, n) => new Ring(capacity, samples.subarray(ends[n], ends[n + 1])));
    this.pieces = Array.from({ length: PIECES }, (_, n) =>
      samples.subarray(this.ringsEnd + n * CONTROL_FRAMES, this.ringsEnd + (n + 1) * CONTROL_FRAMES),
    );
  }

  /**
   * Where in `samples` the `count` samples lie, in one piece, that went into a ring from `delay` frames ago on: in the ring, or
   * copied to the piece `n`, 0..7, until that is asked for again.
   */
  find(ring: number, delay: number, count: number, n: number): number {
    const from = this.rings[ring]!;
    if (from.reaches(delay, count)) return this.begins[ring]! + from.placeOf(delay);
    from.read(delay, this.pieces[n]!, count);
    return this.ringsEnd + n * CONTROL_FRAMES;
  }
}
