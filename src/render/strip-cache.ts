import type { Samples } from '../audio/samples.ts';
import { SPARE_STRIP_BYTES } from './memory-budget.ts';

/** A strip's output as rendered: left and right, its latency still in front, plan.frames + latency long. */
export interface StripSound {
  readonly left: Samples;
  readonly right: Samples;
}

export const bytesOf = ({ left, right }: StripSound): number =>
  Float32Array.BYTES_PER_ELEMENT * (left.length + right.length);

/**
 * Keeps rendered strips by content key: all that the current mix uses, and others up to a budget in bytes, least
 * recently used out first.
 */
export class StripCache {
  private readonly sounds = new Map<string, StripSound>();
  private inHand: ReadonlySet<string> = new Set();

  constructor(private readonly spareBudget = SPARE_STRIP_BYTES) {}

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
    this.letGo(key);
  }

  /**
   * Sets the keys of strips that the current mix uses or is about to: they stay. All others count against the budget.
   */
  keep(keys: ReadonlySet<string>): void {
    this.inHand = keys;
    this.letGo();
  }

  /** Bytes of samples kept: of strips in use, and of others. */
  get bytes(): { readonly inHand: number; readonly spare: number } {
    const total = { inHand: 0, spare: 0 };
    for (const [key, sound] of this.sounds) total[this.inHand.has(key) ? 'inHand' : 'spare'] += bytesOf(sound);
    return total;
  }

  /** Drops strips beyond the budget, the oldest first, but never the `newest`. */
  private letGo(newest?: string): void {
    let { spare } = this.bytes;
    for (const [key, sound] of this.sounds) {
      if (spare <= this.spareBudget) return;
      if (this.inHand.has(key) || key === newest) continue;
      this.sounds.delete(key);
      spare -= bytesOf(sound);
    }
  }
}
