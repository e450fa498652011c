import { flowOf, type Flow, type FlowNode } from '../blend/flow.ts';
import type { FrameRange } from '../blend/make-blend-query.ts';
import type { Audio } from '../dsp/audio.ts';
import type { GainMatrix } from '../dsp/gain-matrix.ts';
import { weightedEnergyOf } from '../measure/weighted-energy.ts';
import { placed, type Sources } from '../render/sources.ts';
import type { Rendered } from './render-session.ts';

/** K-weighted energy of a sound over the range. */
const energyOf = ({ sampleRate, channels }: Audio, range: FrameRange | undefined): number => {
  const cut = channels.map((channel) => (range ? channel.subarray(range.fromFrame, range.toFrame) : channel));
  return weightedEnergyOf({ sampleRate, channels: cut }).channels.reduce(
    (sum, series) => series.reduce((total, value) => total + value, sum),
    0,
  );
};

/** The one gain that lets as much energy through as the matrix does, both channels being alike in level. */
const gainOfMatrix = ({ leftToLeft, leftToRight, rightToLeft, rightToRight }: GainMatrix): number =>
  Math.sqrt((leftToLeft ** 2 + leftToRight ** 2 + rightToLeft ** 2 + rightToRight ** 2) / 2);

/**
 * Where a rendered session's loudness comes from, given each path's share. A track counts by its sound before its own
 * chain, at its gain.
 */
export const flowOfSession = (
  { plan, paths }: Rendered,
  sources: Sources,
  shares: ReadonlyMap<string, number>,
  range: FrameRange | undefined,
): Flow => {
  const kinds = new Map(plan.paths.map(({ id, kind }) => [id, kind]));
  const tracks = plan.sources.map(({ id, startFrame }): FlowNode => {
    const sound = sources.get(id)!;
    const channels = placed(sound, startFrame, plan.soundFrames);
    return { id, kind: 'source', energy: energyOf({ ...sound, channels }, range), feeds: [], share: 0 };
  });
  const strips = plan.strips.flatMap(({ id, spec, from }): FlowNode[] => {
    const kind = kinds.get(id);
    if (!kind) return [];
    const feeds = spec.inputs.map(({ gains }, n) => ({ from: from[n]!.id, gain: gainOfMatrix(gains) }));
    return [{ id, kind, energy: energyOf(paths.get(id)!, range), feeds, share: shares.get(id) ?? 0 }];
  });
  return flowOf([...tracks, ...strips]);
};
