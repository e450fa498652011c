import type { Findings, Heard, Range, SideFindings } from '../../engine/engine.ts';
import { xAt } from './strip-geometry.ts';

type OverTime = SideFindings['overTime'];

/** Loudness at the lower and upper edge of the strip, LUFS. */
export const LOUDNESS_EDGES = [-50, 0] as const;

/** Loudness of what is heard over time; null: it is not measured. A side without a path is drawn as the mix. */
export const loudnessOf = (findings: Findings, heard: Heard): OverTime | null => {
  if (heard === 'rough' || heard === 'received') return findings[heard]?.overTime ?? null;
  return heard.startsWith('pass:') ? null : (findings.mix?.overTime ?? null);
};

/** Short-term loudness as the path of a drawing, broken where there is none; a value stands at the end of its 3 s. */
export const loudnessPath = (
  { shortTermLufs, hopSeconds }: Pick<OverTime, 'shortTermLufs' | 'hopSeconds'>,
  width: number,
  height: number,
  range: Range,
): string => {
  const [low, high] = LOUDNESS_EDGES;
  const first = Math.max(0, Math.floor(range.startSeconds / hopSeconds) - 2);
  const last = Math.min(shortTermLufs.length, Math.ceil(range.endSeconds / hopSeconds) + 2);
  let path = '';
  let isDrawn = false;
  for (let n = first; n < last; n++) {
    const lufs = shortTermLufs[n]!;
    const isThere = Number.isFinite(lufs);
    if (isThere) {
      const y = height * (1 - (Math.min(high, Math.max(low, lufs)) - low) / (high - low));
      path += `${isDrawn ? 'L' : 'M'}${Math.round(10 * xAt((n + 1) * hopSeconds, width, range)) / 10} ${Math.round(10 * y) / 10}`;
    }
    isDrawn = isThere;
  }
  return path;
};

/** Short-term loudness at a moment, LUFS; null: there is none. */
export const loudnessAt = (
  { shortTermLufs, hopSeconds }: Pick<OverTime, 'shortTermLufs' | 'hopSeconds'>,
  seconds: number,
): number | null => {
  const lufs = shortTermLufs[Math.max(0, Math.ceil(seconds / hopSeconds) - 1)];
  return lufs !== undefined && Number.isFinite(lufs) ? lufs : null;
};
