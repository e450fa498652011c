import { flowOver, type Flow } from '../blend/ledger/flow.ts';
import { fitted } from '../blend/ledger/ledger.ts';
import type { FrameRange } from '../blend/gram/make-blend-query.ts';
import type { Audio } from '../audio/audio.ts';
import { totalEnergy, weightedEnergyOf } from '../measure/weighted-energy.ts';
import { flowPlaces } from '../render/flow-places.ts';
import { placed, type Sources } from '../render/sources.ts';
import type { Rendered } from './render-session.ts';

/** K-weighted energy of a sound over the range. */
const energyOf = ({ sampleRate, channels }: Audio, range: FrameRange | undefined): number => {
  const cut = channels.map((channel) => (range ? channel.subarray(range.fromFrame, range.toFrame) : channel));
  return totalEnergy(weightedEnergyOf({ sampleRate, channels: cut }));
};

/** Where a rendered session's loudness comes from, given each path's share. */
export const flowOfSession = (
  { plan, paths }: Rendered,
  sources: Sources,
  shares: ReadonlyMap<string, number>,
  range: FrameRange | undefined,
): Flow => {
  const tracks = plan.sources.map(({ id, startFrame }): [string, number] => {
    const { sampleRate, channels } = sources.get(id)!;
    const sound = placed({ sampleRate, channels }, startFrame, plan.soundFrames);
    return [id, energyOf({ sampleRate, channels: sound }, range)];
  });
  const energies = new Map([
    ...tracks,
    ...plan.paths.map(({ id }): [string, number] => [id, energyOf(fitted(paths.get(id)!, plan.soundFrames), range)]),
  ]);
  return flowOver(flowPlaces(plan), energies, shares);
};
