type Samples = Float32Array | Float64Array;

/** Peak and RMS of a stereo sound since the last reading. */
export class LevelMeter {
  private peak = 0;
  private energy = 0;
  private frames = 0;

  /** Adds `count` frames of a sound that is heard at `gain`. */
  add(left: Samples, right: Samples, gain: number, count: number): void {
    let [peak, leftEnergy, rightEnergy] = [0, 0, 0];
    for (let i = 0; i < count; i++) {
      const l = left[i]!;
      const r = right[i]!;
      leftEnergy += l * l;
      rightEnergy += r * r;
      peak = Math.max(peak, Math.abs(l), Math.abs(r));
    }
    this.peak = Math.max(this.peak, gain * peak);
    this.energy += gain * gain * Math.max(leftEnergy, rightEnergy);
    this.frames += count;
  }

  /** Writes peak and RMS, linear, at a place and the next; 0 where nothing was added. */
  read(values: Float32Array, at: number): void {
    values[at] = this.peak;
    values[at + 1] = this.frames > 0 ? Math.sqrt(this.energy / this.frames) : 0;
    this.peak = this.energy = this.frames = 0;
  }
}
