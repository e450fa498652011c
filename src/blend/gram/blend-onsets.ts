import { framesOf, type Sound } from '../../audio/audio.ts';
import { OnsetMeter } from '../../measure/onset-meter.ts';
import { energyRatioDb } from '../../measure/stereo/stereo.ts';

/** Details that need the summed sound of a blend: they do not follow from its Gram products. */
export interface BlendOnsets {
  readonly onsetStrength: number | null;
  readonly onsetToSustainDb: number | null;
}

/** Frames mixed in one pass. */
const PIECE = 8192;

/** Onsets of the sum of stereo paths at these gains (linear): by mixing, piece by piece. */
export const onsetsOfBlend = (paths: readonly Sound[], gains: readonly number[]): BlendOnsets => {
  const [first] = paths;
  const frames = first ? framesOf(first) : 0;
  const meter = new OnsetMeter(first?.sampleRate ?? 48_000, 2);
  const mixed = [new Float32Array(PIECE), new Float32Array(PIECE)];
  for (let from = 0; from < frames; from += PIECE) {
    const count = Math.min(PIECE, frames - from);
    mixed.forEach((sum, c) => {
      sum.fill(0);
      paths.forEach(({ channels }, p) => {
        const gain = gains[p]!;
        if (gain === 0) return;
        const samples = channels[c]!.subarray(from, from + count);
        for (let n = 0; n < count; n++) sum[n]! += gain * samples[n]!;
      });
    });
    meter.push(mixed, 0, count);
  }
  const { strength, onset, sustained } = meter.onsets();
  return { onsetStrength: sustained > 0 ? strength : null, onsetToSustainDb: energyRatioDb(onset, sustained) };
};
