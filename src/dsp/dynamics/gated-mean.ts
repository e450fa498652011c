/** Levels are sorted into steps of this many dB, from the lowest to the highest power. */
const STEP_DB = 0.25;
const LOWEST_DB = -140;
const STEPS = 720;
/** Lower edge of every step, as power. */
const EDGES = Float64Array.from({ length: STEPS }, (_, n) => 10 ** ((LOWEST_DB + n * STEP_DB) / 10));
/** Relative gate of ITU-R BS.1770-5: blocks more than 10 dB below the mean do not count. */
const GATE = 0.1;

/** The step that holds `power`. */
const stepOf = (power: number): number => {
  let low = 0;
  let high = STEPS;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (EDGES[middle]! <= power) low = middle;
    else high = middle;
  }
  return low;
};

/** Mean power of gating blocks by the relative gate of ITU-R BS.1770, kept as a histogram, so that memory does not grow with length. */
export class GatedMean {
  private readonly sums = new Float64Array(STEPS);
  private readonly counts = new Float64Array(STEPS);

  add(power: number): void {
    const step = stepOf(power);
    this.sums[step]! += power;
    this.counts[step]!++;
  }

  /** Mean power of the blocks above the gate; 0 when there is none. */
  mean(): number {
    const gate = this.meanFrom(0) * GATE;
    return this.meanFrom(stepOf(gate));
  }

  clear(): void {
    this.sums.fill(0);
    this.counts.fill(0);
  }

  private meanFrom(first: number): number {
    const { sums, counts } = this;
    let sum = 0;
    let count = 0;
    for (let n = first; n < STEPS; n++) {
      sum += sums[n]!;
      count += counts[n]!;
    }
    return count > 0 ? sum / count : 0;
  }
}
