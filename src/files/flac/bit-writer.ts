/** Writes a stream bit by bit, the highest bit first. */
export class BitWriter {
  private bytes = new Uint8Array(2 ** 16);
  private length = 0;
  /** Bits of an incomplete byte, and their number. */
  private held = 0;
  private count = 0;

  /** The lowest `bits` (0..32) of a whole number; negative ones in two's complement. */
  put(value: number, bits: number): void {
    if (bits > 16) {
      this.put(Math.floor(value / 2 ** 16), bits - 16);
      this.put(value & 0xffff, 16);
      return;
    }
    this.held = (this.held << bits) | (value & ((1 << bits) - 1));
    this.count += bits;
    while (this.count >= 8) {
      this.count -= 8;
      this.byte((this.held >>> this.count) & 0xff);
    }
    this.held &= (1 << this.count) - 1;
  }

  /** Unary code: `zeros` zeros and a one. */
  unary(zeros: number): void {
    for (; zeros >= 16; zeros -= 16) this.put(0, 16);
    this.put(1, zeros + 1);
  }

  /** Zeros until the end of a byte. */
  align(): void {
    if (this.count > 0) this.put(0, 8 - this.count);
  }

  /** What was written since the last call; whole bytes. */
  take(): Uint8Array<ArrayBuffer> {
    const taken = this.bytes.slice(0, this.length);
    this.length = 0;
    return taken;
  }

  /** What was written since the last `take`, to be read only. */
  written(): Uint8Array {
    return this.bytes.subarray(0, this.length);
  }

  private byte(value: number): void {
    if (this.length === this.bytes.length) {
      const longer = new Uint8Array(2 * this.length);
      longer.set(this.bytes);
      this.bytes = longer;
    }
    this.bytes[this.length++] = value;
  }
}
