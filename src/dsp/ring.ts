/** A long memory of one signal, written and read in blocks. */
export class Ring {
  private readonly samples: Float64Array;
  private readonly mask: number;
  /** Frames written so far (modulo the length). */
  private written = 0;

  /** @param capacity most samples of delay plus frames of a block that are ever asked for */
  constructor(capacity: number) {
    this.samples = new Float64Array(2 ** Math.ceil(Math.log2(Math.max(2, capacity))));
    this.mask = this.samples.length - 1;
  }

  /** Appends source[0..count-1]. */
  write(source: Float64Array, count: number): void {
    const { samples, mask, written } = this;
    for (let i = 0; i < count; i++) samples[(written + i) & mask] = source[i]!;
    this.written = (written + count) & mask;
  }

  /** The `count` samples that were written from `delay` frames ago on; `delay` at least `count`. */
  read(delay: number, target: Float64Array, count: number): void {
    const { samples, mask } = this;
    const from = this.written - delay;
    for (let i = 0; i < count; i++) target[i] = samples[(from + i) & mask]!;
  }

  /** Largest magnitude in memory. */
  get peak(): number {
    let peak = 0;
    for (const sample of this.samples) peak = Math.max(peak, Math.abs(sample));
    return peak;
  }

  clear(): void {
    this.samples.fill(0);
  }
}
