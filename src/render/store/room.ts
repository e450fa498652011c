import type { Samples } from '../../audio/samples.ts';

/** A stereo sound of known length that is written stretch by stretch, and can be read as far as it is; what is never written is silent. */
export interface Taking<S extends Samples = Samples> {
  readonly left: S;
  readonly right: S;
  /** Writes both sides from frame `from` on; the arrays may be used again. Stretches come in their order, or each whole; gaps are silent. */
  put(from: number, left: Float32Array, right: Float32Array): void;
  /** Gives its room back at once, where that can be; it is silent from then on. */
  letGo?(): void;
}

/** Where sounds that are made are kept. */
export interface SoundRoom<S extends Samples = Samples> {
  take(frames: number): Taking<S>;
}

/** Keeps every sound whole in memory. What of it is never written takes none. */
export const memoryRoom: SoundRoom<Float32Array> = {
  take: (frames) => {
    const left = new Float32Array(frames);
    const right = new Float32Array(frames);
    const put = (from: number, l: Float32Array, r: Float32Array): void => {
      left.set(l, from);
      right.set(r, from);
    };
    return { left, right, put };
  },
};
