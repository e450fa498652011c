/** A strip's output as rendered: left and right, its latency still in front, plan.frames + latency long. */
export interface StripSound {
  readonly left: Float32Array;
  readonly right: Float32Array;
}

const bytesOf = ({ left, right }: StripSound): number => left.byteLength + right.byteLength;

/** Keeps rendered strips by content key, within a budget of bytes; what was used longest ago goes first. */
export class StripCache {
  private readonly sounds = new Map<string, StripSound>();
  private bytes = 0;

  constructor(private readonly budget = 1_500_000_000) {}

  get(key: string): StripSound | undefined {
    const sound = this.sounds.get(key);
    if (sound) {
      this.sounds.delete(key);
      this.sounds.set(key, sound);
    }
    return sound;
  }

  set(key: string, sound: StripSound): void {
    if (this.sounds.has(key)) return;
    this.sounds.set(key, sound);
    this.bytes += bytesOf(sound);
    for (const [oldest, old] of this.sounds) {
      if (this.bytes <= this.budget || oldest === key) break;
      this.sounds.delete(oldest);
      this.bytes -= bytesOf(old);
    }
  }
}
