/** Levels settle within this, seconds: slow enough to be read beside a long-term curve. */
const SETTLES_SECONDS = 0.4;

/** Running mean powers of the bands of what is heard, so that it can be held against a long-term spectrum. */
export class BandAverages {
  private powers: number[] | null = null;
  private at = 0;

  /** Adds levels, dB, at a time, seconds, and gives the averages, dB; null: next to nothing. */
  read(levels: readonly number[], at: number): readonly (number | null)[] {
    const share = 1 - Math.exp(-Math.max(0, at - this.at) / SETTLES_SECONDS);
    const now = levels.map((db) => 10 ** (db / 10));
    const before = this.powers?.length === now.length ? this.powers : now;
    this.powers = now.map((power, n) => before[n]! + share * (power - before[n]!));
    this.at = at;
    return this.powers.map((power) => (power > 1e-12 ? 10 * Math.log10(power) : null));
  }

  /** Nothing plays. */
  rest(): void {
    this.powers = null;
  }
}
