/** Numbers that come one by one, kept in one array that doubles when it is full. */
export class Series {
  private kept = new Float64Array(1024);
  private count = 0;

  push(value: number): void {
    if (this.count === this.kept.length) {
      const longer = new Float64Array(2 * this.count);
      longer.set(this.kept);
      this.kept = longer;
    }
    this.kept[this.count++] = value;
  }

  /** All numbers so far: a view that holds until the next push. */
  values(): Float64Array {
    return this.kept.subarray(0, this.count);
  }
}
